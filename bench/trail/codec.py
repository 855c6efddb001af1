"""Events to bytes and back: canonical JSON, and the hash that chains them."""

from __future__ import annotations

import hashlib
from functools import cache
from typing import TYPE_CHECKING

import rfc8785
from pydantic import TypeAdapter, ValidationError

from bench.trail.events import Draft, Event

if TYPE_CHECKING:
    from collections.abc import Mapping

FIRST_PREVIOUS = "0" * 64


class CodecError(ValueError):
    """Stored bytes are no event of a known kind and version.

    Parameters
    ----------
    found : str
        What is there.
    wanted : str
        What was expected.
    """

    def __init__(self, found: str, wanted: str) -> None:
        super().__init__(f"{found}; wanted {wanted}")
        self.found, self.wanted = found, wanted


@cache
def _adapter() -> TypeAdapter[Event]:
    return TypeAdapter(Event)


def canonical(value: Mapping[str, object]) -> bytes:
    """Return the canonical JSON of a mapping.

    Parameters
    ----------
    value : Mapping[str, object]
        Strings, numbers, booleans, None, lists and mappings.

    Returns
    -------
    bytes
        UTF-8.

    Notes
    -----
    Source: RFC 8785.
    """
    return rfc8785.dumps(value)  # type: ignore[arg-type]


def seal(draft: Draft, stamp: Mapping[str, object]) -> tuple[Event, bytes]:
    """Return a draft as a recorded event, and the bytes that are stored for ever.

    Parameters
    ----------
    draft : Draft
        What is to be recorded.
    stamp : Mapping[str, object]
        seq, bench, utc, offset_min, monotonic_ns, app_version, previous_hash.

    Returns
    -------
    tuple[Event, bytes]
        The hash is over these bytes, which hold everything but the hash.
    """
    # the monotonic clock outgrows what JSON numbers hold exactly: it is kept as text
    body = draft.model_dump(mode="json") | dict(stamp) | {"monotonic_ns": str(stamp["monotonic_ns"])}
    data = canonical(body)
    return unseal(data), data


def digest(data: bytes) -> str:
    """Return the SHA-256 of an event's bytes in hex.

    Parameters
    ----------
    data : bytes
        As stored.

    Returns
    -------
    str
        64 characters.
    """
    return hashlib.sha256(data).hexdigest()


def unseal(data: bytes) -> Event:
    """Return the event that stored bytes hold.

    Parameters
    ----------
    data : bytes
        As stored.

    Returns
    -------
    Event
        With its hash computed from the bytes.

    Raises
    ------
    CodecError
        When they hold no event of a known kind and version.
    """
    from pydantic_core import from_json

    from bench.trail.upcasters import upcast

    try:
        body = upcast(from_json(data))
        return _adapter().validate_python(body | {"hash": digest(data)}, strict=False)
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise CodecError(f"{where}: {first['msg']}", "an event of a known kind") from fault
    except (ValueError, TypeError) as fault:
        raise CodecError("bytes that are no JSON object", "an event") from fault

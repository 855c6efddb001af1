"""Events to bytes and back: canonical JSON, and the hash that chains them."""

from __future__ import annotations

import hashlib
from functools import cache
from typing import TYPE_CHECKING, Any, cast

import rfc8785
from pydantic import TypeAdapter, ValidationError
from pydantic_core import from_json

from bench.trail.errors import EventRefusedError
from bench.trail.events import Draft, Event
from bench.trail.upcasters import upcast

if TYPE_CHECKING:
    from collections.abc import Mapping

FIRST_PREVIOUS = "0" * 64
"""What the first event of a chain has for the hash before it."""
CORRECT_IT = "correct it and try again; nothing was recorded"


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

    Raises
    ------
    EventRefusedError
        When the draft holds what could not be read again.
    """
    # the monotonic clock outgrows what JSON numbers hold exactly: it is kept as text
    try:
        body = draft.model_dump(mode="json", warnings="error") | dict(stamp)
        data = canonical(body | {"monotonic_ns": str(stamp["monotonic_ns"])})
        return unseal(data), data
    except ValueError as fault:  # a number or text that JSON cannot hold, or a value its model refuses
        raise EventRefusedError(draft.payload.kind, found=_in_words(fault), do=CORRECT_IT) from fault


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


def parsed(data: bytes) -> dict[str, Any]:
    """Return stored bytes as a mapping, not yet an event.

    Parameters
    ----------
    data : bytes
        As stored.

    Returns
    -------
    dict[str, Any]
        The envelope and its payload, in the version they were written in.

    Raises
    ------
    CodecError
        When they are no JSON object with a payload.
    """
    try:
        body = from_json(data, allow_inf_nan=False)
    except ValueError as fault:
        raise CodecError("bytes that are no JSON", "an event") from fault
    if not isinstance(body, dict) or not isinstance(cast("dict[str, Any]", body).get("payload"), dict):
        raise CodecError("JSON that is no object with a payload", "an event")
    return cast("dict[str, Any]", body)


def unseal(data: bytes) -> Event:
    """Return the event that stored bytes hold.

    Parameters
    ----------
    data : bytes
        As stored.

    Returns
    -------
    Event
        In the present version, with its hash computed from the bytes.

    Raises
    ------
    CodecError
        When they hold no event of a known kind and version.
    """
    body = upcast(parsed(data))
    try:
        return _adapter().validate_python(body | {"hash": digest(data)}, strict=False)
    except ValidationError as fault:
        raise CodecError(_in_words(fault), "an event of a known kind and version") from fault


def text_line(data: bytes) -> bytes:
    """Return stored bytes as one line of text with their hash in it, for copies and job files.

    Parameters
    ----------
    data : bytes
        As stored.

    Returns
    -------
    bytes
        Canonical JSON without a line end.
    """
    return canonical(parsed(data) | {"hash": digest(data)})


def stored_bytes(line: bytes) -> bytes:
    """Return the bytes that a line of text was made from.

    Parameters
    ----------
    line : bytes
        As `text_line` made it.

    Returns
    -------
    bytes
        As stored.

    Raises
    ------
    CodecError
        When the line is no event, or its hash does not fit.
    """
    body = parsed(line)
    told = body.pop("hash", None)
    try:
        data = canonical(body)
    except ValueError as fault:
        raise CodecError("a number that JSON cannot hold", "an event") from fault
    if digest(data) != told:
        raise CodecError("words that do not have the hash written beside them", "an unchanged event")
    return data


def _in_words(fault: ValueError) -> str:
    if isinstance(fault, ValidationError):
        first = fault.errors(include_url=False, include_input=False, include_context=False)[0]
        return f"{'.'.join(str(part) for part in first['loc'])}: {first['msg']}"
    return str(fault)

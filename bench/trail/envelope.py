"""What a chain needs of an event's bytes: who, which, after which. The rest is passed over, so a walk is short."""

from __future__ import annotations

import msgspec

from bench.trail.codec import CodecError


class Kind(msgspec.Struct):
    """What kind of event it is."""

    kind: str | None = None


class Envelope(msgspec.Struct):
    """What stands around an event's payload; None for what is not there."""

    payload: Kind
    seq: int | None = None
    id: str | None = None
    job: str | None = None
    bench: str | None = None
    previous_hash: str | None = None


_DECODER = msgspec.json.Decoder(Envelope)


def envelope_of(data: bytes) -> Envelope:
    """Return what stands around an event's payload.

    Parameters
    ----------
    data : bytes
        As stored.

    Returns
    -------
    Envelope
        Of any version.

    Raises
    ------
    CodecError
        When they are no JSON object with a payload.
    """
    try:
        return _DECODER.decode(data)
    except msgspec.ValidationError as fault:
        raise CodecError("JSON that is no object with a payload", "an event") from fault
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError) as fault:
        raise CodecError("bytes that are no JSON", "an event") from fault

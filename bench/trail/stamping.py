"""What every store does alike: stamp a draft, notice a stepped clock, check a link of the chain."""

from __future__ import annotations

from datetime import datetime

from bench.trail.clock import Clock, rfc3339
from bench.trail.codec import CodecError, digest, seal, unseal
from bench.trail.contract import ChainFault
from bench.trail.events import ClockStepped, Draft, Event
from bench.trail.identifiers import new_id

STEP_S = 2.0


def stamped(
    draft: Draft, *, seq: int, bench: str, clock: Clock, app_version: str, previous_hash: str
) -> tuple[Event, bytes]:
    """Return a draft as a recorded event and its bytes.

    Parameters
    ----------
    draft : Draft
        What is to be recorded.
    seq : int
        Its place.
    bench : str
        Name of the bench.
    clock : Clock
        Stamps.
    app_version : str
        Stamps.
    previous_hash : str
        Of the event before.

    Returns
    -------
    tuple[Event, bytes]
        Event and stored bytes.
    """
    return seal(
        draft,
        {
            "seq": seq,
            "bench": bench,
            "utc": rfc3339(clock.utc_now()),
            "offset_min": clock.offset_min(),
            "monotonic_ns": clock.monotonic_ns(),
            "app_version": app_version,
            "previous_hash": previous_hash,
        },
    )


def step_draft(clock: Clock, last: tuple[str, int] | None) -> list[Draft]:
    """Return a draft that tells of a stepped clock, when it stepped.

    Parameters
    ----------
    clock : Clock
        Now.
    last : tuple[str, int] or None
        Wall and monotonic time of this process's last event; None before its first.

    Returns
    -------
    list[Draft]
        Empty, or one.
    """
    if last is None:
        return []
    wall_s = (clock.utc_now() - datetime.fromisoformat(last[0])).total_seconds()
    ran_s = (clock.monotonic_ns() - last[1]) / 1e9
    if abs(wall_s - ran_s) <= STEP_S:
        return []
    return [Draft(id=new_id(), payload=ClockStepped(by_seconds=round(wall_s - ran_s, 3)))]


def check_link(data: bytes, *, seq: int, previous: str, stored_hash: str) -> ChainFault | None:
    """Return what is wrong with one link of a chain, None when it fits.

    Parameters
    ----------
    data : bytes
        As stored.
    seq : int
        Where it must stand.
    previous : str
        Hash of the event before.
    stored_hash : str
        The hash kept beside it.

    Returns
    -------
    ChainFault or None
        In words.
    """
    if digest(data) != stored_hash:
        return ChainFault(seq, "bytes that do not have the hash kept beside them", stored_hash)
    try:
        event = unseal(data)
    except CodecError as fault:
        return ChainFault(seq, fault.found, fault.wanted)
    if event.seq != seq:
        return ChainFault(seq, f"event {event.seq}", f"event {seq}")
    if event.previous_hash != previous:
        return ChainFault(seq, "another event before it", f"the event with hash {previous[:16]}")
    return None

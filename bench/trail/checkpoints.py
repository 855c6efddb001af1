"""Is a trail still the one that a checkpoint was taken from: a certificate's, a backup's, a text copy's."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Protocol

from bench.trail.codec import FIRST_PREVIOUS
from bench.trail.contract import ChainFault, Checkpoint
from bench.trail.events import CertificateIssued, Event


class Readable(Protocol):
    """What is asked of a trail here."""

    @property
    def bench(self) -> str:
        """Name of its bench."""
        ...

    def events(self, *, job: str | None = None, after: int = 0) -> Iterator[Event]:
        """Stream events; see the contract."""
        ...

    def checkpoint(self) -> Checkpoint:
        """Return how far the chain has come."""
        ...


def against(trail: Readable, checkpoint: Checkpoint) -> ChainFault | None:
    """Compare a trail with a checkpoint that was kept outside of it.

    A chain shows by itself that nothing in it was changed; that its end was cut off, or that all of it was written
    anew, only something outside can show. The chain itself is not walked here.

    Parameters
    ----------
    trail : Readable
        The record.
    checkpoint : Checkpoint
        As printed on a certificate, or told by a backup.

    Returns
    -------
    ChainFault or None
        None when the trail went on from that checkpoint.
    """
    if trail.bench != checkpoint.bench:
        return ChainFault(0, f"a record of bench '{trail.bench}'", f"one of bench '{checkpoint.bench}'")
    there = trail.checkpoint()
    if there.length < checkpoint.length:
        cut = checkpoint.length - there.length
        return ChainFault(
            there.length + 1,
            f"the record ends after {there.length} events",
            f"at least {checkpoint.length} events, as the checkpoint says; {cut} at the end are gone",
        )
    found = _hash_at(trail, checkpoint.length)
    if found != checkpoint.head:
        return ChainFault(
            checkpoint.length,
            f"an event with the hash {found[:16]}",
            f"the one with the hash {checkpoint.head[:16]}, as the checkpoint says; the record was written anew",
        )
    return None


def certificate_faults(trail: Readable, issued: Iterable[Event] | None = None) -> Iterator[ChainFault]:
    """Compare a trail with the checkpoints in the certificates it tells of itself.

    Parameters
    ----------
    trail : Readable
        The record.
    issued : Iterable[Event] | None
        The events that tell of certificates, where they are at hand; None to look through all.

    Yields
    ------
    ChainFault
        One for each certificate that was issued over another trail.
    """
    for event in trail.events() if issued is None else issued:
        payload = event.payload
        if not isinstance(payload, CertificateIssued):
            continue
        if payload.length >= event.seq or _hash_at(trail, payload.length) != payload.head:
            yield ChainFault(
                event.seq,
                f"certificate {payload.file_name} over another record",
                f"one over this record's first {payload.length} events",
            )


def _hash_at(trail: Readable, seq: int) -> str:
    if seq == 0:
        return FIRST_PREVIOUS
    return next((event.hash for event in trail.events(after=seq - 1)), "")

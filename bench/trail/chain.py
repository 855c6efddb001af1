"""The chain: walking stored rows one by one and saying where they stop fitting."""

from __future__ import annotations

from typing import NamedTuple

from bench.trail.codec import FIRST_PREVIOUS, CodecError, digest
from bench.trail.contract import ChainFault


class StoredRow(NamedTuple):
    """An event as it lies in a store: its bytes, their hash, and what is kept beside them for searching."""

    seq: int
    id: str
    job: str
    kind: str
    body: bytes
    hash: str


class ChainWalk:
    """Goes along a chain in constant memory.

    Parameters
    ----------
    bench : str
        Whose chain it is.
    length : int
        Events that were walked already.
    head : str
        Hash of the last of them.
    """

    def __init__(self, bench: str, *, length: int = 0, head: str = FIRST_PREVIOUS) -> None:
        # the library that reads envelopes fast is loaded by those who walk, not by every command
        from bench.trail.envelope import envelope_of

        self.bench, self.length, self.head = bench, length, head
        self._envelope_of = envelope_of

    def step(self, row: StoredRow) -> ChainFault | None:  # noqa: PLR0911 one fault a line
        """Take the next row.

        Parameters
        ----------
        row : StoredRow
            The next of the store, in its order.

        Returns
        -------
        ChainFault or None
            None when it fits; only then the walk has moved on.
        """
        seq, event_id, job, kind, body, told_hash = row
        wanted = self.length + 1
        if seq != wanted:
            return ChainFault(wanted, f"event {seq} next", f"event {wanted}")
        try:
            seen = digest(body)
            envelope = self._envelope_of(body)
        except (CodecError, TypeError) as fault:
            return ChainFault(wanted, str(fault), "an event")
        if seen != told_hash:
            return ChainFault(wanted, f"bytes with the hash {seen[:16]}", f"those with the hash {told_hash[:16]}")
        if envelope.previous_hash != self.head:
            return ChainFault(wanted, "another event before it", f"the event with the hash {self.head[:16]}")
        fits = envelope.seq == seq and envelope.id == event_id and envelope.job == job and envelope.payload.kind == kind
        if not fits:
            return ChainFault(wanted, "columns that tell another story", "those of the event's bytes")
        if envelope.bench != self.bench:
            return ChainFault(wanted, f"an event of bench '{envelope.bench}'", f"one of bench '{self.bench}'")
        self.length, self.head = wanted, told_hash
        return None

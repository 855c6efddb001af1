"""The chain: walking stored rows one by one and saying where they stop fitting."""

from __future__ import annotations

from typing import NamedTuple

from bench.trail.codec import FIRST_PREVIOUS, CodecError, digest, parsed
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
        self.bench, self.length, self.head = bench, length, head

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
        wanted = self.length + 1
        if row.seq != wanted:
            return ChainFault(wanted, f"event {row.seq} next", f"event {wanted}")
        try:
            seen = digest(row.body)
            body = parsed(row.body)
        except (CodecError, TypeError) as fault:
            return ChainFault(wanted, str(fault), "an event")
        if seen != row.hash:
            return ChainFault(wanted, f"bytes with the hash {seen[:16]}", f"those with the hash {row.hash[:16]}")
        if body.get("previous_hash") != self.head:
            return ChainFault(wanted, "another event before it", f"the event with the hash {self.head[:16]}")
        told = (body.get("seq"), body.get("id"), body.get("job"), body["payload"].get("kind"))
        if told != (row.seq, row.id, row.job, row.kind):
            return ChainFault(wanted, "columns that tell another story", "those of the event's bytes")
        if body.get("bench") != self.bench:
            return ChainFault(wanted, f"an event of bench '{body.get('bench')}'", f"one of bench '{self.bench}'")
        self.length, self.head = wanted, row.hash
        return None

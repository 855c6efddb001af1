"""A trail in memory: the twin that tests use, with the same promises except surviving the power."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bench.models.job_state import JobLine
from bench.trail.clock import Clock
from bench.trail.codec import FIRST_PREVIOUS, digest, unseal
from bench.trail.contract import ChainFault, Checkpoint
from bench.trail.events import Draft, Event
from bench.trail.job_lines import moved_on
from bench.trail.stamping import check_link, stamped, step_draft


class MemoryTrail:
    """Events in a list.

    Parameters
    ----------
    bench : str
        Name of the bench.
    clock : Clock
        Stamps.
    app_version : str
        Stamps.
    """

    def __init__(self, *, bench: str, clock: Clock, app_version: str = "0") -> None:
        self._bench, self._clock, self._version = bench, clock, app_version
        self._rows: list[bytes] = []
        self._by_id: dict[str, int] = {}
        self._lines: dict[str, JobLine] = {}
        self._last: tuple[str, int] | None = None
        self.read_only = False

    @property
    def bench(self) -> str:
        """Name of this bench."""
        return self._bench

    def append(self, drafts: Sequence[Draft]) -> list[Event]:
        """Record drafts; see the contract.

        Parameters
        ----------
        drafts : Sequence[Draft]
            Oldest first.

        Returns
        -------
        list[Event]
            As recorded.
        """
        stepped = step_draft(self._clock, self._last)
        recorded = []
        for draft in [*stepped, *drafts]:
            known = self._by_id.get(draft.id)
            if known is not None:
                recorded.append(unseal(self._rows[known]))
                continue
            previous = digest(self._rows[-1]) if self._rows else FIRST_PREVIOUS
            event, data = stamped(
                draft,
                seq=len(self._rows) + 1,
                bench=self._bench,
                clock=self._clock,
                app_version=self._version,
                previous_hash=previous,
            )
            self._by_id[draft.id] = len(self._rows)
            self._rows.append(data)
            self._last = (event.utc, event.monotonic_ns)
            line = moved_on(self._lines.get(event.job), event)
            if line is not None:
                self._lines[event.job] = line
            recorded.append(event)
        return recorded[len(stepped) :]

    def events(self, *, job: str | None = None, after: int = 0) -> Iterator[Event]:
        """Stream events; see the contract.

        Parameters
        ----------
        job : str or None
            Only this job's.
        after : int
            Only later ones.

        Yields
        ------
        Event
            In order.
        """
        for data in self._rows[after:]:
            event = unseal(data)
            if job is None or event.job == job:
                yield event

    def checkpoint(self) -> Checkpoint:
        """Return how far the chain has come."""
        return Checkpoint(self._bench, len(self._rows), digest(self._rows[-1]) if self._rows else FIRST_PREVIOUS)

    def jobs(self) -> list[JobLine]:
        """Return all jobs, the newest activity first."""
        return sorted(self._lines.values(), key=lambda line: (line.last_utc, line.number), reverse=True)

    def verify(self) -> ChainFault | None:
        """Walk the whole chain."""
        previous = FIRST_PREVIOUS
        for index, data in enumerate(self._rows):
            fault = check_link(data, seq=index + 1, previous=previous, stored_hash=digest(data))
            if fault is not None:
                return fault
            previous = digest(data)
        return None

    def close(self) -> None:
        """Nothing is held."""

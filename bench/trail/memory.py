"""A trail in memory: the twin that tests use, with the same promises except surviving the power."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bench.models.job_state import JobLine, JobState
from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.clock import Clock
from bench.trail.codec import FIRST_PREVIOUS, unseal
from bench.trail.contract import ChainFault, Checkpoint
from bench.trail.events import Draft, Event
from bench.trail.job_lines import line_of, moved_on, words_of
from bench.trail.search import fits
from bench.trail.stamping import StepWatch, stamped


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
        self._rows: list[StoredRow] = []
        self._by_id: dict[str, int] = {}
        self._states: dict[str, JobState] = {}
        self._newest: dict[str, str] = {}
        self._watch = StepWatch(clock)
        self.read_only = False
        self.held_by = ""

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
        stepped = self._watch.draft()
        # all are stamped before the first is kept, so that a refused one leaves nothing behind
        made: dict[str, tuple[Event, StoredRow | None]] = {}
        head = self.checkpoint()
        for draft in [*stepped, *drafts]:
            if draft.id in made:
                continue
            if draft.id in self._by_id:
                made[draft.id] = (unseal(self._rows[self._by_id[draft.id]].body), None)
                continue
            event, data = stamped(
                draft,
                seq=head.length + 1,
                bench=self._bench,
                clock=self._clock,
                app_version=self._version,
                previous_hash=head.head,
            )
            made[draft.id] = (event, StoredRow(event.seq, event.id, event.job, event.payload.kind, data, event.hash))
            head = Checkpoint(self._bench, event.seq, event.hash)
        for event, row in made.values():
            if row is not None:
                self._keep(event, row)
        return [made[draft.id][0] for draft in drafts]

    def _keep(self, event: Event, row: StoredRow) -> None:
        self._by_id[event.id] = len(self._rows)
        self._rows.append(row)
        self._watch.saw(event)
        state = moved_on(self._states.get(event.job), event)
        if state is not None:
            self._states[event.job] = state
            self._newest[event.job] = event.utc

    def events(self, *, job: str | None = None, after: int = 0) -> Iterator[Event]:
        """Stream events; see the contract.

        Parameters
        ----------
        job : str | None
            Only this job's.
        after : int
            Only later ones.

        Yields
        ------
        Event
            In order.
        """
        for row in self._rows[max(after, 0) :]:
            if job is None or row.job == job:
                yield unseal(row.body)

    def checkpoint(self) -> Checkpoint:
        """Return how far the chain has come."""
        return Checkpoint(self._bench, len(self._rows), self._rows[-1].hash if self._rows else FIRST_PREVIOUS)

    def jobs(self, *, most: int | None = None) -> list[JobLine]:
        """Return jobs, the newest activity first; see the contract.

        Parameters
        ----------
        most : int | None
            No more than so many.

        Returns
        -------
        list[JobLine]
            One row a job.
        """
        newest_first = sorted(self._states.values(), key=lambda state: state.last_seq, reverse=True)
        return [line_of(state, last_utc=self._newest[state.number]) for state in newest_first[:most]]

    def numbers(self, prefix: str) -> list[str]:
        """Return the job numbers that begin so; see the contract.

        Parameters
        ----------
        prefix : str
            For example a year and a hyphen.

        Returns
        -------
        list[str]
            In no order.
        """
        return [number for number in self._states if number.startswith(prefix)]

    def find(self, words: str, *, most: int = 50) -> list[JobLine]:
        """Find jobs; see the contract.

        Parameters
        ----------
        words : str
            Separated by spaces.
        most : int
            No more than so many.

        Returns
        -------
        list[JobLine]
            The newest activity first.
        """
        return [line for line in self.jobs() if fits(words, words_of(self._states[line.number]))][:most]

    def verify(self) -> ChainFault | None:
        """Walk the whole chain."""
        walk = ChainWalk(self._bench)
        for row in self._rows:
            fault = walk.step(row)
            if fault is not None:
                return fault
        return None

    def close(self) -> None:
        """Nothing is held."""

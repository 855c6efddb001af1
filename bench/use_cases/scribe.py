"""Writes into the trail on behalf of whoever is at the bench, and keeps the job's state folded."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bench.models.job_state import JobState
from bench.trail.contract import Trail
from bench.trail.events import AnyPayload, Draft, Event, How
from bench.trail.fold import apply, fold
from bench.use_cases.errors import RefusedError


class Scribe:
    """One job's pen: what it records is durable before the call returns.

    Parameters
    ----------
    trail : Trail
        The record.
    new_id : Callable[[], str]
        Makes event ids (UUIDv7).
    simulated : bool
        The instruments are simulated: automatic entries are marked so.
    held_elsewhere : Callable[[str], str]
        Tells for a job number which other bench goes on with it and since when, in words; "" when none does.
    """

    def __init__(
        self,
        trail: Trail,
        *,
        new_id: Callable[[], str],
        simulated: bool = False,
        held_elsewhere: Callable[[str], str] = lambda _: "",
    ) -> None:
        self.trail = trail
        self.by = ""
        self._new_id = new_id
        self._simulated = simulated
        self._held_elsewhere = held_elsewhere
        self._state: JobState | None = None
        self._length_seen = -1
        self.before_recording: Callable[[Sequence[AnyPayload]], None] = lambda _: None

    @property
    def state(self) -> JobState | None:
        """The open job as it stands."""
        return self._state

    def seen(self) -> JobState | None:
        """Return the open job as it stands; where another program writes, with what it recorded meanwhile."""
        if self._state is not None and self.trail.read_only:
            length = self.trail.checkpoint().length
            if length != self._length_seen:
                self.choose(self._state.number)
                self._length_seen = length
        return self._state

    def choose(self, number: str) -> JobState:
        """Open a recorded job.

        Parameters
        ----------
        number : str
            Job number.

        Returns
        -------
        JobState
            As it stands.

        Raises
        ------
        RefusedError
            When the record has no such job.
        """
        events = list(self.trail.events(job=number))
        if not events:
            raise RefusedError(
                f"job {number}", found="not in this record", do="`spinledger job list` shows what there is"
            )
        self._state = fold(events)
        return self._state

    def _refuse_elsewhere(self, job: str | None) -> None:
        state = self._state
        if state is None or (job is not None and job != state.number):
            return
        handed = state.handed_over
        held = f"handed over to bench {handed.to_bench}" if handed is not None else self._held_elsewhere(state.number)
        if held:
            raise RefusedError(
                f"job {state.number}",
                found=held,
                do="go on with it there, or take it over from that bench with `spinledger job take-over`",
            )

    def leave(self) -> None:
        """Put the job away."""
        self._state = None

    def record_drafts(self, drafts: Sequence[Draft]) -> list[Event]:
        """Record what another bench's job is made of here, in one durable step; the job is not opened.

        Parameters
        ----------
        drafts : Sequence[Draft]
            Oldest first.

        Returns
        -------
        list[Event]
            As recorded.
        """
        return self.trail.append(drafts)

    def new_id(self) -> str:
        """Return a fresh event id."""
        return self._new_id()

    def record(
        self,
        payloads: Sequence[AnyPayload],
        *,
        how: How = "auto",
        raw: tuple[str, ...] = (),
        job: str | None = None,
    ) -> list[Event]:
        """Record payloads in one durable step and fold them in.

        Parameters
        ----------
        payloads : Sequence[AnyPayload]
            Oldest first.
        how : How
            How they came about; "auto" becomes "simulated" on a simulated bench.
        raw : tuple[str, ...]
            The instrument's own lines.
        job : str | None
            Job number where no job is open yet.

        Returns
        -------
        list[Event]
            As recorded.

        Raises
        ------
        RefusedError
            When another bench goes on with the job.
        """
        self._refuse_elsewhere(job)
        self.before_recording(payloads)
        number = job if job is not None else (self._state.number if self._state else "")
        meant: How = "simulated" if how == "auto" and self._simulated else how
        events = self.trail.append(
            [
                Draft(id=self._new_id(), job=number, by=self.by, how=meant, raw=raw, payload=payload)
                for payload in payloads
            ]
        )
        if self._state is not None and number == self._state.number:
            state = self._state
            for event in events:
                state = apply(state, event)
            self._state = state
        return events

"""What every store does alike: stamp a draft, and notice a clock that stepped."""

from __future__ import annotations

from datetime import datetime

from bench.trail.clock import Clock, rfc3339
from bench.trail.codec import seal
from bench.trail.errors import EventRefusedError
from bench.trail.events import ClockStepped, Draft, Event, JobOpened
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

    Raises
    ------
    EventRefusedError
        When it could not be read again, or opens a job under another number than it is filed under.
    """
    if isinstance(draft.payload, JobOpened) and draft.payload.number != draft.job:
        raise EventRefusedError(
            "job-opened", found=f"number {draft.payload.number} filed under '{draft.job}'", wanted="one number"
        )
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


class StepWatch:
    """Notices a wall clock that stepped against the monotonic clock since the last look.

    Parameters
    ----------
    clock : Clock
        The computer's.
    last_utc : str
        Moment of the newest recorded event, "" when there is none: a clock that lies before it went back while
        the program was not running.
    """

    def __init__(self, clock: Clock, *, last_utc: str = "") -> None:
        self._clock = clock
        self._wall, self._ran_ns = clock.utc_now(), clock.monotonic_ns()
        if last_utc:
            recorded = datetime.fromisoformat(last_utc)
            # the first append compares with the later of the two, so that a step back over a restart is told
            self._wall = max(self._wall, recorded)

    def draft(self) -> list[Draft]:
        """Return what is to be recorded about a step: nothing, or one draft."""
        wall_s = (self._clock.utc_now() - self._wall).total_seconds()
        ran_s = (self._clock.monotonic_ns() - self._ran_ns) / 1e9
        if abs(wall_s - ran_s) <= STEP_S:
            return []
        return [Draft(id=new_id(), payload=ClockStepped(by_seconds=round(wall_s - ran_s, 3)))]

    def saw(self, event: Event) -> None:
        """Take a recorded event's stamps as the newest look.

        Parameters
        ----------
        event : Event
            As recorded by this process.
        """
        self._wall, self._ran_ns = datetime.fromisoformat(event.utc), event.monotonic_ns

"""What is counted of a job for numbers over many: runs, time at work, sets out of limit, scale checks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from bench.computation.part_set import part_set
from bench.models.job import Cell
from bench.models.job_state import JobState
from bench.trail.events import Event, JobOpened
from bench.trail.fold import fold
from bench.trail.job_lines import moved_on

LONGEST_PAUSE_S = 900.0
"""A longer time between two events is no work on the job. [s]"""


@dataclass(frozen=True, slots=True)
class Tally:
    """A job on its way through its events.

    Attributes
    ----------
    state : JobState | None
        Folded; None while no job was opened.
    utc : str
        Moment of the newest event.
    seconds : float
        Time at work: between events that lie no more than a quarter of an hour apart. [s]
    """

    state: JobState | None = None
    utc: str = ""
    seconds: float = 0.0

    def after(self, event: Event) -> Tally:
        """Return the tally with one more event.

        Parameters
        ----------
        event : Event
            The job's next.

        Returns
        -------
        Tally
            After it.
        """
        return Tally(moved_on(self.state, event), event.utc, self.seconds + _worked(self.utc, event.utc))


def _worked(before: str, utc: str) -> float:
    """Return the time at work between two moments, 0 when the pause was too long for that. In seconds."""
    if not before:
        return 0.0
    gap_s = (datetime.fromisoformat(utc) - datetime.fromisoformat(before)).total_seconds()
    return gap_s if 0 < gap_s <= LONGEST_PAUSE_S else 0.0


def tally_of(events: Iterable[Event]) -> Tally:
    """Return the tally of a job's events.

    Parameters
    ----------
    events : Iterable[Event]
        Oldest first.

    Returns
    -------
    Tally
        After the last.
    """
    every = list(events)
    opened = next((at for at, event in enumerate(every) if isinstance(event.payload, JobOpened)), None)
    if opened is None:
        return Tally()
    seconds = sum(_worked(one.utc, following.utc) for one, following in pairwise(every[opened:]))
    return Tally(fold(every[opened:]), every[-1].utc, seconds)


@dataclass(frozen=True, slots=True)
class JobNumbers:
    """What counts of one job.

    Attributes
    ----------
    runs, cuts : int
        That were not taken back.
    sets, sets_out : int
        Sets with a limit that are weighed whole, and how many of them are out of it as they stand.
    checks, checks_failed : int
        Scale checks.
    signed, within : bool
        Signed off; and that within tolerance.
    """

    runs: int
    cuts: int
    sets: int
    sets_out: int
    checks: int
    checks_failed: int
    signed: bool
    within: bool


def numbers_of(state: JobState) -> JobNumbers:
    """Return what counts of a job.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    JobNumbers
        As it stands.
    """
    sets, out = _sets(state)
    return JobNumbers(
        runs=len(state.spins) + sum(len(one.spins) for one in state.rotors_done),
        cuts=len(state.cuts) + sum(len(one.cuts) for one in state.rotors_done),
        sets=sets,
        sets_out=out,
        checks=len(state.scale_checks),
        checks_failed=sum(not check.passed for check in state.scale_checks),
        signed=state.signed_off is not None,
        within=bool(state.signed_off and state.signed_off.within_tolerance),
    )


def _sets(state: JobState) -> tuple[int, int]:
    """Return how many sets with a limit are weighed whole, and how many of them are out of it."""
    whole = out = 0
    spec = state.spec
    for kind in spec.kinds:
        places = spec.layout.cylinders if kind.per == "cylinder" else tuple(t.number for t in spec.layout.throws)
        found = [state.weighed.get(Cell(kind=kind.name, place=place)) for place in places]
        grams = [float(one.grams) for one in found if one is not None and one.grams > 0]
        if kind.limit_g is None or not grams or len(grams) < len(places):
            continue
        whole += 1
        out += any(part_set(grams, limit_g=kind.limit_g).out)
    return whole, out

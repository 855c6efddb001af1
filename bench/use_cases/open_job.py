"""Open a job."""

from __future__ import annotations

from bench.models.job import JobSpec
from bench.models.job_state import JobState
from bench.trail.contract import Trail
from bench.trail.events import JobOpened
from bench.use_cases.scribe import Scribe


def next_number(trail: Trail, *, year: int) -> str:
    """Return the next free job number of a year, e.g. "2031-0007".

    Parameters
    ----------
    trail : Trail
        The record.
    year : int
        Four digits.

    Returns
    -------
    str
        One above the largest number of that year.
    """
    prefix = f"{year:04d}-"
    taken = [
        int(number[len(prefix) :])
        for number in trail.numbers(prefix)
        if number[len(prefix) :].isascii() and number[len(prefix) :].isdigit()
    ]
    return f"{prefix}{max(taken, default=0) + 1:04d}"


def open_job(scribe: Scribe, spec: JobSpec, *, year: int) -> JobState:
    """Record a new job and make it the open one.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    spec : JobSpec
        What intake asked.
    year : int
        For the number.

    Returns
    -------
    JobState
        The new job.
    """
    number = next_number(scribe.trail, year=year)
    scribe.record([JobOpened(number=number, spec=spec)], how="typed", job=number)
    return scribe.choose(number)

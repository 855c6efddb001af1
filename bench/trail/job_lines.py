"""The list of jobs as a projection: each event moves its job's line on. It can be rebuilt at any time."""

from __future__ import annotations

from dataclasses import replace

from bench.models.job import cells_in_order
from bench.models.job_state import JobLine
from bench.trail.events import (
    BobweightBuilt,
    Event,
    JobOpened,
    JobReopened,
    JobSignedOff,
    SpinRun,
    WeightTaken,
)


def moved_on(line: JobLine | None, event: Event) -> JobLine | None:
    """Return a job's line after one more event.

    Parameters
    ----------
    line : JobLine or None
        Before; None when the job is new.
    event : Event
        The next event of the job.

    Returns
    -------
    JobLine or None
        After; None while no job was opened.
    """
    payload = event.payload
    if isinstance(payload, JobOpened):
        spec = payload.spec
        return JobLine(
            number=payload.number,
            title=spec.title,
            customer=spec.customer,
            engine=spec.engine,
            opened_utc=event.utc,
            last_utc=event.utc,
            step="weigh" if cells_in_order(spec) else "spin",
            simulated=spec.simulated,
        )
    if line is None:
        return None
    step = line.step
    if isinstance(payload, WeightTaken | JobReopened) and step == "done":
        step = "weigh" if isinstance(payload, WeightTaken) else "spin"
    elif isinstance(payload, BobweightBuilt):
        step = "bobweights"
    elif isinstance(payload, SpinRun):
        step = "spin"
    elif isinstance(payload, JobSignedOff):
        step = "done"
    return replace(line, last_utc=event.utc, step=step)

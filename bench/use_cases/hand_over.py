"""A job goes from bench to bench: handed over here, taken over there; one bench writes it at a time."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from bench.models.job_state import JobState
from bench.models.rotor_set import first_spec
from bench.trail.events import (
    BobweightBuilt,
    CellSkipped,
    CutMade,
    Draft,
    Event,
    FileAttached,
    JobHandedOver,
    JobOpened,
    JobTakenOver,
    NoteWritten,
    RouteChosen,
    ScaleChecked,
    SpinRun,
    StationsEntered,
    WeightTaken,
)
from bench.trail.fold import fold
from bench.trail.guests import hash_over_hashes
from bench.trail.spin_events import AnglesChecked, PartsMounted, RotorBegun, RunIndexed
from bench.use_cases.errors import RefusedError
from bench.use_cases.open_job import next_number
from bench.use_cases.scribe import Scribe

_GOES_ALONG = (
    StationsEntered,
    WeightTaken,
    CellSkipped,
    BobweightBuilt,
    SpinRun,
    CutMade,
    ScaleChecked,
    NoteWritten,
    RouteChosen,
    RunIndexed,
    AnglesChecked,
    PartsMounted,
    RotorBegun,
)
"""What is recorded again where the job goes on; what was taken back does not count and stays behind."""


def _refuse_nobody(scribe: Scribe, where: str, reason: str) -> None:
    if not scribe.by.strip():
        raise RefusedError(where, found="nobody is named", wanted="initials", do="give --by")
    if not reason.strip():
        raise RefusedError(where, found="no reason given", wanted="a few words why")


def hand_over(scribe: Scribe, *, to_bench: str, reason: str) -> Event:
    """Record that another bench goes on with the open job; nothing more can be recorded in it here.

    Parameters
    ----------
    scribe : Scribe
        Who writes; the job is open.
    to_bench : str
        Which bench.
    reason : str
        Why, for example "weighed here, spun there".

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When no job is open, it is signed off or handed over already, or the bench is this one.
    """
    state = scribe.state
    if state is None:
        raise RefusedError("hand over", found="no job is open")
    where = f"hand over job {state.number}"
    if state.signed_off is not None:
        raise RefusedError(where, found="it is signed off")
    if not to_bench.strip() or to_bench == scribe.trail.bench:
        raise RefusedError(where, found=f"bench '{to_bench}'", wanted="the name of another bench")
    _refuse_nobody(scribe, where, reason)
    return scribe.record([JobHandedOver(to_bench=to_bench.strip()[:40], reason=reason.strip()[:200])], how="typed")[0]


def job_taken_from(scribe: Scribe, *, from_bench: str, number: str) -> str:
    """Return the job that goes on here with one of another bench.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    from_bench : str
        Where it was begun.
    number : str
        Its number there.

    Returns
    -------
    str
        Its number here; "" when it was not taken over.
    """
    for event in scribe.trail.events():
        payload = event.payload
        if isinstance(payload, JobTakenOver) and (payload.from_bench, payload.number) == (from_bench, number):
            return event.job
    return ""


def take_over(
    scribe: Scribe,
    events: Sequence[Event],
    *,
    reason: str,
    gone: bool,
    year: int,
    files: Collection[str] = (),
    record: Callable[[Sequence[Draft]], object] | None = None,
) -> JobState:
    """Go on here with another bench's job, under a number of this bench; all of it is recorded in one step.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    events : Sequence[Event]
        All events of the job, proved by their chain, oldest first.
    reason : str
        Why.
    gone : bool
        The other bench did not hand it over.
    year : int
        For the number.
    files : Collection[str]
        Hashes of the attachments whose bytes are at hand; an entry about another one stays behind.
    record : Callable[[Sequence[Draft]], object] | None
        Records everything in one step, with the attachments' bytes; None without attachments.

    Returns
    -------
    JobState
        The job here, now open.

    Raises
    ------
    RefusedError
        When it is signed off, or this bench's own.
    """
    refuse_take_over(scribe, events, reason=reason)
    old = fold(events)
    from_bench = events[0].bench
    new = next_number(scribe.trail, year=year)
    taken = JobTakenOver(
        from_bench=from_bench,
        number=old.number,
        events=len(events),
        sha256=hash_over_hashes(event.hash for event in events),
        gone=gone,
        reason=reason.strip()[:200],
    )
    first = [
        Draft(id=scribe.new_id(), job=new, by=scribe.by, how="typed", payload=payload)
        for payload in (JobOpened(number=new, spec=first_spec(old)), taken)
    ]
    (record or scribe.record_drafts)([*first, *_again(scribe, events, old, new, files)])
    return scribe.choose(new)


def refuse_take_over(scribe: Scribe, events: Sequence[Event], *, reason: str) -> None:
    """Refuse what cannot be taken over.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    events : Sequence[Event]
        All events of the job.
    reason : str
        Why it is taken over.

    Raises
    ------
    RefusedError
        When it is signed off or this bench's own, or nobody or no reason is named.
    """
    old = fold(events)
    where = f"take over job {old.number} of bench {events[0].bench}"
    if events[0].bench == scribe.trail.bench:
        raise RefusedError(where, found="it is this bench's own job")
    if old.signed_off is not None:
        raise RefusedError(where, found="it is signed off", do="open a rebuild of it where it was done")
    _refuse_nobody(scribe, where, reason)


def attached_to(events: Sequence[Event]) -> list[str]:
    """Return the hashes of the attachments that a job's events tell of.

    Parameters
    ----------
    events : Sequence[Event]
        All events of the job.

    Returns
    -------
    list[str]
        In the order they were attached, each once.
    """
    return list(dict.fromkeys(event.payload.sha256 for event in events if isinstance(event.payload, FileAttached)))


def _again(scribe: Scribe, events: Sequence[Event], old: JobState, new: str, files: Collection[str]) -> list[Draft]:
    """Each entry that counts, with who made it and the instrument's own lines, under an id of this chain."""
    ids: dict[str, str] = {}
    drafts: list[Draft] = []
    runs = {spin.entry.event_id for spin in old.runs_taken}
    for event in events:
        payload = event.payload
        here = isinstance(payload, FileAttached) and payload.sha256 in files
        if not (here or isinstance(payload, _GOES_ALONG)) or event.id in old.withdrawn:
            continue
        if isinstance(payload, SpinRun) and event.id not in runs:
            continue
        if isinstance(payload, WeightTaken | BobweightBuilt | CutMade):
            before = ids.get(payload.supersedes or "")
            payload = payload.model_copy(update={"supersedes": before})
        if isinstance(payload, RunIndexed | AnglesChecked | PartsMounted):
            told = _of_these_runs(payload, ids)
            if told is None:
                continue
            payload = told
        ids[event.id] = scribe.new_id()
        how = event.how if event.how == "simulated" else "imported"
        drafts.append(Draft(id=ids[event.id], job=new, by=event.by, how=how, raw=event.raw, payload=payload))
    return drafts


def _of_these_runs(
    payload: RunIndexed | AnglesChecked | PartsMounted, ids: dict[str, str]
) -> RunIndexed | AnglesChecked | PartsMounted | None:
    """The same about the runs under their ids of this chain; None when one of them stayed behind."""
    if isinstance(payload, RunIndexed):
        both = ids.get(payload.spin), ids.get(payload.against)
        return payload.model_copy(update={"spin": both[0], "against": both[1]}) if all(both) else None
    if isinstance(payload, AnglesChecked):
        runs = tuple(ids.get(run, run) for run in payload.runs)
        return payload.model_copy(update={"runs": runs})
    if payload.spin is None:
        return payload
    return payload.model_copy(update={"spin": ids[payload.spin]}) if payload.spin in ids else None

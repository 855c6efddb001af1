"""Says in the record that entries are gone which a drive had reported as kept, and goes on without them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from bench.trail.disk import sync_folder
from bench.trail.errors import CopyError
from bench.trail.events import Draft, Event
from bench.trail.identifiers import new_id
from bench.trail.keeping_events import GapFound
from bench.trail.restore import free_name
from bench.trail.sqlite_store import SqliteTrail
from bench.trail.text_copy import extend_text_copy, lost_since
from bench.trail.words import event_in_words

NAMED = 3
"""So many of the newest lost entries are named."""


@dataclass(frozen=True, slots=True)
class GapRecorded:
    """What came of it.

    Attributes
    ----------
    events : tuple[Event, ...]
        One for each job that lost something, and one for what belongs to no job of the record.
    lost : int
        Entries that are gone.
    set_aside : Path
        The text copy that still has them.
    """

    events: tuple[Event, ...]
    lost: int
    set_aside: Path


def record_gap(trail: SqliteTrail, copy: Path, *, by: str, now: datetime) -> GapRecorded:
    """Record what a text copy has more than the record, keep that copy beside a new one.

    Parameters
    ----------
    trail : SqliteTrail
        The record, to write.
    copy : Path
        Its text copy.
    by : str
        Initials.
    now : datetime
        For the name of the copy that is set aside.

    Returns
    -------
    GapRecorded
        On the disk when this returns.

    Raises
    ------
    CopyError
        When nothing is missing, or the copy is of another record or cannot be set aside.
    """
    lost = lost_since(trail, copy)
    if not lost:
        raise CopyError(str(copy), found="nothing that the record has not", do="go on: no entry was lost")
    by_job: dict[str, list[Event]] = {}
    for event in lost:
        # a job whose opening is among the lost ones is no job of this record
        known = event.job and next(trail.events(job=event.job), None) is not None
        by_job.setdefault(event.job if known else "", []).append(event)
    drafts = [
        Draft(id=new_id(), job=job, by=by, how="typed", payload=_gap(events, head=lost[-1].hash))
        for job, events in by_job.items()
    ]
    recorded = trail.append(drafts)
    aside = free_name(copy, now=now)
    try:
        copy.rename(aside)
        sync_folder(copy.parent)
    except OSError as fault:
        raise CopyError(str(copy), found=f"cannot be set aside ({fault.strerror})", do="look at the medium") from fault
    extend_text_copy(trail, copy)
    return GapRecorded(tuple(recorded), len(lost), aside)


def _gap(events: list[Event], *, head: str) -> GapFound:
    named = "; ".join(event_in_words(event) for event in events[-NAMED:])
    return GapFound(
        entries=len(events), first_seq=events[0].seq, last_seq=events[-1].seq, head=head, words=named[:1000]
    )

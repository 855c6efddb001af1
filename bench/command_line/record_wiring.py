"""Opens this bench's record: which file, which store, which clock."""

from __future__ import annotations

import socket
from collections.abc import Generator, Iterable
from contextlib import contextmanager
from itertools import chain
from pathlib import Path

from bench import __version__
from bench.command_line.places import Places, find_places
from bench.command_line.settings import Settings
from bench.models.job_state import JobState
from bench.trail.clock import SystemClock
from bench.trail.contract import Trail
from bench.trail.errors import RecordBusyError, RecordReadOnlyError
from bench.trail.events import Event
from bench.trail.fold import fold
from bench.trail.identifiers import new_id
from bench.trail.sqlite_store import SqliteTrail, open_record
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe


def bench_name(settings: Settings) -> str:
    """Return this bench's name: the settings' or the computer's.

    Parameters
    ----------
    settings : Settings
        As read.

    Returns
    -------
    str
        Up to 40 characters.
    """
    return (settings.bench or socket.gethostname() or "bench")[:40]


def open_trail(places: Places, settings: Settings, *, looking_is_fine: bool = False) -> SqliteTrail:
    """Open this bench's record to write, made when it is not there yet.

    Parameters
    ----------
    places : Places
        Where it lives.
    settings : Settings
        For the bench's name.
    looking_is_fine : bool
        When another program has it, open it to look only and say so; else that is refused.

    Returns
    -------
    SqliteTrail
        Ready.

    Raises
    ------
    RecordBusyError
        When another program has it, with who and since when.
    RecordReadOnlyError
        When it cannot be written otherwise.
    """
    places.record.parent.mkdir(parents=True, exist_ok=True)
    trail = open_record(places.record, bench=bench_name(settings), clock=SystemClock(), app_version=__version__)
    if trail.read_only and not looking_is_fine:
        trail.close()
        if trail.busy:
            raise RecordBusyError(str(places.record), held_by=trail.busy)
        raise RecordReadOnlyError(str(places.record), found=trail.held_by, do="look at the rights of file and folder")
    copy = settings.care.text_path
    if copy is not None and not trail.read_only and places.record == find_places().record:  # never the demo's
        from bench.trail.text_copy_keeper import TextCopyKeeper

        trail.follow(TextCopyKeeper(places.record, copy))
    return trail


def scribe_for(trail: Trail, settings: Settings, *, simulated: bool = False) -> Scribe:
    """Return a scribe on a trail.

    Parameters
    ----------
    trail : Trail
        The record.
    settings : Settings
        For the initials.
    simulated : bool
        Mark automatic entries as simulated.

    Returns
    -------
    Scribe
        Ready.
    """

    def held(job: str) -> str:
        from bench.sharing.holders import held_elsewhere

        path = getattr(trail, "path", None)
        return held_elsewhere(path.with_name("others.db"), bench=trail.bench, job=job) if path is not None else ""

    scribe = Scribe(trail, new_id=new_id, simulated=simulated, held_elsewhere=held)
    scribe.by = settings.by
    return scribe


def read_trail(places: Places, settings: Settings, *, record: Path | None = None) -> SqliteTrail | None:
    """Open the record to look only.

    Parameters
    ----------
    places : Places
        Where it lives.
    settings : Settings
        For the bench's name.
    record : Path | None
        Another file than the bench's own record.

    Returns
    -------
    SqliteTrail or None
        None when there is no record yet.
    """
    path = record or places.record
    if not path.exists():
        return None
    return open_record(path, bench=bench_name(settings), clock=SystemClock(), app_version=__version__, read_only=True)


@contextmanager
def job_events(
    places: Places, settings: Settings, number: str, *, bench: str = "", shared: str = ""
) -> Generator[Iterable[Event]]:
    """Give the events of a job: this bench's own, one that was brought in or fetched, or one of the shared record.

    Parameters
    ----------
    places : Places
        Where the record lives.
    settings : Settings
        For the bench's name.
    number : str
        Job number.
    bench : str
        Whose job it is; "" for this bench's own.
    shared : str
        Address of the shared record; "" for this computer's.

    Yields
    ------
    Iterable[Event]
        Oldest first.

    Raises
    ------
    RefusedError
        When the record has no such job.
    """
    from bench.sharing.others import events_of_others
    from bench.trail.guests import guest_events

    if shared:
        from bench.command_line.office_wiring import shared_events

        with shared_events(shared, number, bench=bench) as (found, _):
            yield found
        return
    trail = read_trail(places, settings)
    if trail is None:
        raise RefusedError(f"job {number}", found="there is no record yet", do="`spinledger job new` opens a job")
    try:
        own = not bench or bench == trail.bench
        events = trail.events(job=number) if own else guest_events(trail, bench=bench, number=number)
        first = next(events, None)
        if first is None and not own:
            events = iter(events_of_others(places.others, bench=bench, job=number))
            first = next(events, None)
        if first is None:
            raise RefusedError(
                f"job {number}", found="not in this record", do="`spinledger job list` shows what there is"
            )
        yield chain([first], events)
    finally:
        trail.close()


def load_job(places: Places, settings: Settings, number: str, *, bench: str = "", shared: str = "") -> JobState:
    """Return a job as it stands.

    Parameters
    ----------
    places : Places
        Where the record lives.
    settings : Settings
        For the bench's name.
    number : str
        Job number.
    bench : str
        Whose job it is; "" for this bench's own.
    shared : str
        Address of the shared record; "" for this computer's.

    Returns
    -------
    JobState
        Folded from its events.
    """
    with job_events(places, settings, number, bench=bench, shared=shared) as events:
        return fold(events)

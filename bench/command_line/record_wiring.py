"""Opens this bench's record: which file, which store, which clock."""

from __future__ import annotations

import socket
from pathlib import Path

from bench import __version__
from bench.command_line.places import Places
from bench.command_line.settings import Settings
from bench.models.job_state import JobState
from bench.trail.clock import SystemClock
from bench.trail.contract import Trail
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


def open_trail(places: Places, settings: Settings, *, read_only: bool = False) -> SqliteTrail:
    """Open this bench's record, made when it is not there yet.

    Parameters
    ----------
    places : Places
        Where it lives.
    settings : Settings
        For the bench's name.
    read_only : bool
        Only look.

    Returns
    -------
    SqliteTrail
        Ready.
    """
    if not read_only:
        places.record.parent.mkdir(parents=True, exist_ok=True)
    return open_record(
        places.record,
        bench=bench_name(settings),
        clock=SystemClock(),
        app_version=__version__,
        read_only=read_only,
    )


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
    scribe = Scribe(trail, new_id=new_id, simulated=simulated)
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


def load_job(places: Places, settings: Settings, number: str) -> JobState:
    """Return a job as it stands.

    Parameters
    ----------
    places : Places
        Where the record lives.
    settings : Settings
        For the bench's name.
    number : str
        Job number.

    Returns
    -------
    JobState
        Folded from its events.

    Raises
    ------
    RefusedError
        When the record has no such job.
    """
    trail = read_trail(places, settings)
    if trail is None:
        raise RefusedError(f"job {number}", found="there is no record yet", do="`spinledger job new` opens a job")
    try:
        return scribe_for(trail, settings).choose(number)
    finally:
        trail.close()

"""What stands on the dashboard about copies of the record until somebody sees to it."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from bench.command_line.places import Places
from bench.command_line.power_watch import Power, PowerWatch, power_now
from bench.command_line.settings import Settings
from bench.trail.backup import back_up, backup_warning, newest_backup
from bench.trail.errors import RecordError
from bench.trail.sqlite_faults import SQLITE_FAULTS
from bench.trail.sqlite_opening import connect
from bench.trail.sqlite_reading import RecordReader
from bench.trail.text_copy import end_of_text_copy, extend_text_copy
from bench.trail.text_copy_keeper import lost_words, with_reader

ASKED_EVERY_S = 30.0


def care_words(
    places: Places,
    settings: Settings,
    *,
    simulated: bool,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    clock: Callable[[], float] = time.monotonic,
    power: Callable[[], Power] = power_now,
) -> Callable[[], str]:
    """Return what tells about copies of the record; it looks at the media now and then only.

    Parameters
    ----------
    places : Places
        Where the record lives.
    settings : Settings
        Where copies go.
    simulated : bool
        A simulated bench needs none.
    now : Callable[[], datetime]
        The wall clock.
    clock : Callable[[], float]
        A clock that only runs on. [s]
    power : Callable[[], Power]
        Asks the system for the supply; when it runs low, copies are made.

    Returns
    -------
    Callable[[], str]
        One sentence, "" when all is well.
    """
    if simulated:
        return str
    lost = _lost(places.record, settings.care.text_path)
    begun = _begun(places.record)
    watch = PowerWatch(lambda: save_now(places, settings), look=power)
    looked: list[tuple[float, str]] = []

    def words() -> str:
        if not looked or clock() - looked[-1][0] > ASKED_EVERY_S:
            watch.glance()
            looked[:] = [(clock(), watch.words or lost or _about_copies(settings, begun, now()))]
        return looked[-1][1]

    return words


def save_now(places: Places, settings: Settings) -> str:
    """Make all copies that are set up, beside whoever writes, and write the record's newest entries into its file.

    Parameters
    ----------
    places : Places
        Where the record lives.
    settings : Settings
        Where copies go.

    Returns
    -------
    str
        What came of it, in words.
    """
    care = settings.care
    if not places.record.exists():
        return "there is no record yet"
    with closing(connect(places.record, mode="mode=rw")) as connection:
        connection.execute("PRAGMA wal_checkpoint(PASSIVE)")

    def copies(reader: RecordReader) -> int:
        made = sum(back_up(reader, folder, now=datetime.now(UTC)).made is not None for folder in care.folders)
        if care.text_path is not None:
            extend_text_copy(reader, care.text_path)
            made += 1
        return made

    wanted = len(care.folders) + (care.text_path is not None)
    try:
        made = with_reader(places.record, copies)
    except (RecordError, *SQLITE_FAULTS) as fault:
        return f"no copy could be made ({fault})"
    return f"{made} of {wanted} copies made" if wanted else "no folder for copies is set"


def _lost(record: Path, copy: Path | None) -> str:
    return "" if copy is None else lost_words(record, copy)


def _about_copies(settings: Settings, begun: datetime | None, now: datetime) -> str:
    care = settings.care
    copy = care.text_path
    if copy is not None and not copy.parent.is_dir():
        return f"text copy: {copy.parent} is not there; plug the medium in"
    if copy is not None and copy.exists():
        try:
            end_of_text_copy(copy)
        except RecordError as fault:
            return f"text copy: {fault.found}"
    newest = newest_backup(care.folders)
    if newest is None and (begun is None or now - begun <= timedelta(days=care.backup_after_days)):
        return ""  # a new bench is not nagged before there is something to lose
    warning = backup_warning(newest, now=now, after_days=care.backup_after_days)
    return f"{warning}: `spinledger backup` makes one" if warning else ""


def _begun(record: Path) -> datetime | None:
    """When the record's first entry was made."""
    if not record.exists():
        return None
    try:
        return datetime.fromisoformat(with_reader(record, lambda reader: reader.event_at(1).utc))
    except (RecordError, *SQLITE_FAULTS):
        return None

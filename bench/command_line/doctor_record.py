"""The record's health: is it there, whole, written durably, on a fit place, copied away; is the clock believable."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from bench.command_line.care_settings import CareSettings
from bench.command_line.doctor_finding import Finding, fault, fine, look
from bench.trail.backup import BackupFile, backup_warning, backups_in, newest_backup
from bench.trail.contract import Checkpoint
from bench.trail.errors import CopyError, ForeignFileError, NewerRecordError, RecordError
from bench.trail.file_look import look_at_file
from bench.trail.full_check import quick_faults
from bench.trail.sqlite_faults import SQLITE_FAULTS
from bench.trail.sqlite_opening import connect, connect_to_look, durability, settle
from bench.trail.sqlite_reading import RecordReader
from bench.trail.text_copy import end_of_text_copy
from bench.trail.where_it_lies import where_it_lies
from bench.trail.writer_lock import WriterLock

WALKED = 50_000
"""So many events are walked here; of a longer record `verify` walks all."""
SCARCE, LOW = 100_000_000, 1_000_000_000
LONG_AHEAD = 200_000_000
AGO = datetime(2024, 1, 1, tzinfo=UTC)
"""No clock that is right shows an earlier day than this program's first."""
SLACK = timedelta(minutes=10)


def check_record(path: Path) -> tuple[list[Finding], Checkpoint | None]:
    """Look at a record's file, its tables and its chain.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    tuple[list[Finding], Checkpoint or None]
        Findings, and how far it goes where it can be read.
    """
    if not path.exists():
        return [
            look(
                "record-none",
                "record",
                f"there is no record yet at {path}",
                "`spinledger job new` makes it, `spinledger restore` brings one back",
            )
        ], None
    try:
        look_at_file(path, newer_is_fine=False)
    except NewerRecordError as told:
        return [
            fault("record-newer", "record", told.found, "use the newer program; this one can only look at it")
        ], None
    except ForeignFileError as told:
        words = f"{path} is not a record: {told.found}"
        return [fault("record-foreign", "record", words, "move that file away, then `spinledger restore BACKUP`")], None
    except RecordError as told:
        return [fault("record-damaged", "record", told.found, told.do or "`spinledger restore BACKUP`")], None
    found = list(_rights(path))
    try:
        inside, end = _inside(path)
    except (RecordError, *SQLITE_FAULTS) as told:
        words = told.found if isinstance(told, RecordError) else str(told)
        return [*found, fault("record-damaged", "record", words, "`spinledger restore BACKUP`")], None
    return [*found, *inside], end


def _rights(path: Path) -> Iterator[Finding]:
    if not os.access(path, os.W_OK) or not os.access(path.parent, os.W_OK):
        which = path if not os.access(path, os.W_OK) else path.parent
        yield fault("record-rights", "record", f"{which} cannot be written", "give this user the right to write it")
        return
    lock = WriterLock(path)
    try:
        free = lock.take()
    except OSError as told:
        yield fault("record-lock", "record", f"no lock can be taken ({told.strerror})", "use a disk of this computer")
        return
    if free:
        lock.release()
        yield from _settings_read_back(path)
    else:
        yield look("record-in-use", "record", lock.holder(), "close the other program before writing here")


def _settings_read_back(path: Path) -> Iterator[Finding]:
    """Open it as the store does and ask what is really in force."""
    try:
        with closing(connect(path, mode="mode=rw")) as connection:
            settle(connection, str(path), read_only=False)
            mode, level = durability(connection)
            yield fine("record-durable", "record", f"journal {mode}, synchronous {level}: a commit waits for the drive")
    except RecordError as told:
        yield fault("record-durable", "record", told.found, told.do)
    except SQLITE_FAULTS as told:
        yield fault("record-durable", "record", str(told), "look at the disk, then `spinledger restore BACKUP`")


def _inside(path: Path) -> tuple[list[Finding], Checkpoint]:
    connection, copy = connect_to_look(path)
    try:
        with closing(connection):
            settle(connection, str(path), read_only=True)
            reader = RecordReader(connection, path)
            end = reader.checkpoint()
            wrong = quick_faults(reader, most=WALKED)
            if wrong:
                return [fault("record-damaged", "record", wrong[0], "`spinledger restore BACKUP`")], end
            words = f"{end.length} events of {end.bench}, the newest {min(end.length, WALKED)} walked and whole"
            found = [fine("record-whole", "record", words)]
            if not reader.projections.are_fresh():
                remedy = "open the record once to write: they are made anew"
                found.append(look("record-lists", "record", "the list of jobs is older than the trail", remedy))
            last = next(iter(reader.events(after=end.length - 1)), None) if end.length else None
            if last is not None:
                found += _newest_against_clock(last.utc)
            return found, end
    finally:
        if copy is not None:
            copy.cleanup()


def _newest_against_clock(utc: str) -> list[Finding]:
    now = datetime.now(UTC)
    ahead = datetime.fromisoformat(utc) - now
    if ahead > SLACK:
        words = f"the newest entry is dated {utc[:16]}, after now ({now:%Y-%m-%dT%H:%M}, UTC)"
        return [fault("clock-behind", "clock", words, "set the computer's clock")]
    return []


def check_clock(now: datetime) -> list[Finding]:
    """Look at the wall clock.

    Parameters
    ----------
    now : datetime
        As it shows.

    Returns
    -------
    list[Finding]
        One.
    """
    if now < AGO:
        return [
            fault("clock-dead", "clock", f"the clock shows {now:%Y-%m-%d}", "set it, and change the board's battery")
        ]
    if now.year >= 2100:
        return [fault("clock-far", "clock", f"the clock shows {now:%Y-%m-%d}", "set the computer's clock")]
    local = now.astimezone()
    return [fine("clock", "clock", f"{local:%Y-%m-%d %H:%M} local, offset {local:%z}")]


def check_disk(path: Path, *, free: int | None = None, mounts: str | None = None) -> list[Finding]:
    """Look at what the record lies on.

    Parameters
    ----------
    path : Path
        The record's file.
    free : int | None
        Bytes free; None asks the system. [B]
    mounts : str | None
        The system's table of mounts; None reads it.

    Returns
    -------
    list[Finding]
        At least one.
    """
    folder = next((one for one in (path.parent, *path.parents) if one.exists()), path.parent)
    room = shutil.disk_usage(folder).free if free is None else free
    words = f"{room // 1_000_000:,} MB free at {folder}"
    if room < SCARCE:
        found = [fault("disk-full", "disk", words, "make room: below this nothing more can be recorded for long")]
    elif room < LOW:
        found = [look("disk-low", "disk", words, "make room before it is needed")]
    else:
        found = [fine("disk", "disk", words)]
    lying = where_it_lies(path, mounts=mounts)
    if lying.kind == "network":
        remedy = "move the folder to a disk of this computer and set SPINLEDGER_HOME"
        found.append(
            fault("disk-network", "disk", f"the record lies in a network ({lying.file_system or 'share'})", remedy)
        )
    if lying.kind == "memory":
        remedy = "set SPINLEDGER_HOME to a folder on a disk: this one is empty after the power was off"
        found.append(fault("disk-memory", "disk", f"the record lies in memory ({lying.file_system})", remedy))
    if lying.read_only:
        found.append(
            fault("disk-read-only", "disk", "the whole disk is mounted read-only", "look at the drive; back up first")
        )
    if lying.synchronised:
        remedy = "move the record out of it with SPINLEDGER_HOME and let backups go there instead"
        words = f"{lying.synchronised} is copied about by another program while it is written"
        found.append(fault("disk-synchronised", "disk", words, remedy))
    ahead = path.with_name(path.name + "-wal")
    if ahead.exists() and ahead.stat().st_size > LONG_AHEAD:
        size = ahead.stat().st_size // 1_000_000
        found.append(
            look("disk-ahead", "disk", f"{size} MB of entries lie ahead of the record", "close programs that read it")
        )
    return found


def check_copies(care: CareSettings, record: Path, end: Checkpoint | None, *, now: datetime) -> list[Finding]:
    """Look at backups and at the text copy.

    Parameters
    ----------
    care : CareSettings
        Where they go.
    record : Path
        The record's file.
    end : Checkpoint | None
        How far the record goes.
    now : datetime
        Now.

    Returns
    -------
    list[Finding]
        At least one.
    """
    if not care.folders:
        remedy = "`spinledger settings --set care.backup_folder=FOLDER`, then `spinledger backup`"
        found = [look("backup-nowhere", "backup", "no folder for backups is set", remedy)]
    else:
        found = _backups(care, record, end, now=now)
    return [*found, *_text_copy(care, end)]


def _backups(care: CareSettings, record: Path, end: Checkpoint | None, *, now: datetime) -> list[Finding]:
    found: list[Finding] = []
    for folder in care.folders:
        if not folder.is_dir():
            found.append(
                look("backup-away", "backup", f"{folder} is not there", "plug the medium in for the next backup")
            )
        elif not os.access(folder, os.W_OK):
            found.append(
                fault("backup-rights", "backup", f"{folder} cannot be written", "look at its rights or its switch")
            )
        elif _one_device(folder, record):
            remedy = "use a medium that is taken away: one fire or one failing drive takes both"
            found.append(look("backup-same-disk", "backup", f"{folder} is on the record's own disk", remedy))
        if folder.is_dir() and any(folder.glob(".*.half")):
            remedy = "delete the hidden file that ends in .half; it was never whole"
            found.append(look("backup-half", "backup", f"a backup in {folder} was cut off", remedy))
    newest = newest_backup(care.folders)
    reachable = any(folder.is_dir() for folder in care.folders)
    warning = backup_warning(newest, now=now, after_days=care.backup_after_days)
    if warning and (reachable or newest is not None):
        id_ = "backup-none" if newest is None else "backup-dated" if "clock" in warning else "backup-old"
        found.append(fault(id_, "backup", warning, "`spinledger backup` makes one"))
    elif newest is not None:
        found.append(fine("backup", "backup", f"{newest.path.name}, {(now - newest.when).days} days old"))
    longest = _longest(care, end)
    if longest is not None and end is not None:
        words = f"{longest.path.name} has {longest.length} events, the record only {end.length}: its end is gone"
        remedy = "write nothing; `spinledger restore` that backup (this record is kept beside it)"
        found.append(fault("record-lost-end", "record", words, remedy))
    return found


def _one_device(folder: Path, record: Path) -> bool:
    place = record if record.exists() else record.parent
    return place.exists() and folder.stat().st_dev == place.stat().st_dev


def _longest(care: CareSettings, end: Checkpoint | None) -> BackupFile | None:
    from bench.trail.backup import plain_bench

    if end is None:
        return None
    own = f"spinledger-{plain_bench(end.bench)}-"
    backups = [one for folder in care.folders for one in backups_in(folder) if one.path.name.startswith(own)]
    longest = max(backups, key=lambda one: one.length, default=None)
    return longest if longest is not None and longest.length > end.length else None


def _text_copy(care: CareSettings, end: Checkpoint | None) -> list[Finding]:  # noqa: PLR0911 one finding a line
    path = care.text_path
    if path is None:
        return []
    if not path.parent.is_dir():
        return [
            fault("text-away", "backup", f"the text copy's folder {path.parent} is not there", "plug the medium in")
        ]
    if not path.exists():
        return [look("text-none", "backup", f"there is no text copy at {path} yet", "`spinledger backup` begins it")]
    try:
        copied = end_of_text_copy(path)
    except CopyError as told:
        return [fault("text-broken", "backup", told.found, "move that file away; a new copy is begun")]
    length = 0 if end is None else end.length
    if copied > length:
        words = f"the text copy has {copied} events, the record {length}: the record lost its end"
        remedy = "write nothing; `spinledger restore` the text copy (this record is kept beside it)"
        return [fault("text-ahead", "record", words, remedy)]
    if copied < length:
        return [
            look("text-behind", "backup", f"the text copy is {length - copied} events behind", "`spinledger backup`")
        ]
    return [fine("text", "backup", f"the text copy holds all {copied} events")]

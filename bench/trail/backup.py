"""Backups: the whole record into one file on another medium, read back and proved before it has its name."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from bench.trail.contract import Checkpoint
from bench.trail.disk import put_in_place, sync_file
from bench.trail.errors import CopyError, RecordError
from bench.trail.sqlite_faults import SQLITE_FAULTS
from bench.trail.sqlite_opening import connect, settle
from bench.trail.sqlite_reading import RecordReader

_NAME = re.compile(r"spinledger-(?P<bench>[a-z0-9-]{1,40})-(?P<when>\d{8}T\d{6}Z)-(?P<length>\d{1,12})\.db")
_MARGIN = 1_000_000


@dataclass(frozen=True, slots=True)
class BackupFile:
    """A backup as its name tells.

    Attributes
    ----------
    path : Path
        The file.
    when : datetime
        When it was made, UTC.
    length : int
        Events in it.
    """

    path: Path
    when: datetime
    length: int


@dataclass(frozen=True, slots=True)
class BackupOutcome:
    """What became of a backup into one folder.

    Attributes
    ----------
    folder : Path
        Where it should go.
    made : BackupFile or None
        None when it failed.
    checkpoint : Checkpoint or None
        How far it goes, read back from the medium.
    fault : str
        Why it failed, in words; "" when it did not.
    """

    folder: Path
    made: BackupFile | None
    checkpoint: Checkpoint | None
    fault: str = ""


def back_up(trail: RecordReader, folder: Path, *, now: datetime) -> BackupOutcome:
    """Make one backup; writing may go on meanwhile.

    Parameters
    ----------
    trail : RecordReader
        The record.
    folder : Path
        On another medium, best one that is taken away.
    now : datetime
        For its name.

    Returns
    -------
    BackupOutcome
        A failed one says why; a fault of the medium is no exception, it is shown until the next good backup.
    """
    start = trail.checkpoint()
    half = folder / f".{plain_bench(trail.bench)}-{os.getpid()}.half"
    try:
        _refuse_small(folder, trail.path)
        _copy(trail.path, half)
        end = _read_back(half)
        if end.bench != start.bench or end.length < start.length:
            raise CopyError(str(folder), found=f"{end.length} events read back", wanted=f"at least {start.length}")
        name = f"spinledger-{plain_bench(trail.bench)}-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}-{end.length}.db"
        put_in_place(half, folder / name)
        made = BackupFile(folder / name, now.astimezone(UTC).replace(microsecond=0), end.length)
        return BackupOutcome(folder, made, end)
    except SQLITE_FAULTS as fault:
        return BackupOutcome(folder, None, None, f"the medium failed ({fault})")
    except RecordError as fault:
        return BackupOutcome(folder, None, None, str(fault))
    except OSError as fault:
        return BackupOutcome(folder, None, None, f"the folder cannot be written ({fault.strerror})")
    finally:
        _remove_half(half)


def _remove_half(half: Path) -> None:
    for rest in ("", "-journal", "-wal", "-shm"):
        try:
            half.with_name(half.name + rest).unlink(missing_ok=True)
        except OSError:
            continue  # the medium is gone or cannot be written: nothing of it counts


def back_up_to_all(trail: RecordReader, folders: list[Path], *, now: datetime) -> list[BackupOutcome]:
    """Make one backup in each folder; a fault of one does not keep the other from it.

    Parameters
    ----------
    trail : RecordReader
        The record.
    folders : list[Path]
        Two, best on different media.
    now : datetime
        For their names.

    Returns
    -------
    list[BackupOutcome]
        One a folder.
    """
    return [back_up(trail, folder, now=now) for folder in folders]


def _refuse_small(folder: Path, record: Path) -> None:
    if not folder.is_dir():
        raise CopyError(str(folder), found="there is no such folder", do="plug the medium in, or name another folder")
    need = sum(part.stat().st_size for part in (record, record.with_name(record.name + "-wal")) if part.exists())
    free = shutil.disk_usage(folder).free
    if free < need + _MARGIN:
        raise CopyError(
            str(folder),
            found=f"{free // 1_000_000} MB free",
            wanted=f"{(need + _MARGIN) // 1_000_000} MB",
            do="make room",
        )


def _copy(record: Path, half: Path) -> None:
    _remove_half(half)
    with closing(connect(record, mode="mode=ro")) as source, closing(connect(half, mode="mode=rwc")) as copy:
        source.backup(copy)
        # one file by itself, so that it can be read from a medium that cannot be written
        copy.execute("PRAGMA journal_mode = DELETE")
    sync_file(half)


def _read_back(half: Path) -> Checkpoint:
    """Prove a finished copy as the medium gives it back, not as memory remembers it."""
    with half.open("rb") as file:
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        hashlib.file_digest(file, "sha256")  # every byte, so that a page that cannot be read is found today
    with closing(connect(half, mode="mode=ro&immutable=1")) as connection:
        settle(connection, str(half), read_only=True)
        reader = RecordReader(connection, half)
        told = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
        if told != "ok":
            raise CopyError(
                str(half.parent), found=f"what was written cannot be read back ({told})", do="use another medium"
            )
        fault = reader.verify()
        if fault is not None:
            raise CopyError(
                str(half.parent), found=f"event {fault.seq} read back as {fault.found}", do="use another medium"
            )
        return reader.checkpoint()


def plain_bench(bench: str) -> str:
    """Return a bench's name as it stands in the names of its backups.

    Parameters
    ----------
    bench : str
        Name of the bench.

    Returns
    -------
    str
        Small ASCII letters, digits and hyphens.
    """
    return "-".join(re.findall(r"[a-z0-9]+", bench.lower()))[:40].strip("-") or "bench"


def backups_in(folder: Path) -> list[BackupFile]:
    """Return the backups in a folder, the newest first; a folder that is not there has none.

    Parameters
    ----------
    folder : Path
        Any.

    Returns
    -------
    list[BackupFile]
        By their names.
    """
    found: list[BackupFile] = []
    try:
        names = sorted(path.name for path in folder.iterdir())
    except OSError:
        return []
    for name in names:
        match = _NAME.fullmatch(name)
        if match is None:
            continue
        try:
            when = datetime.strptime(match["when"], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
        except ValueError:
            continue
        found.append(BackupFile(folder / name, when, int(match["length"])))
    return sorted(found, key=lambda backup: (backup.when, backup.length), reverse=True)


def newest_backup(folders: list[Path]) -> BackupFile | None:
    """Return the newest backup of several folders.

    Parameters
    ----------
    folders : list[Path]
        Where backups go.

    Returns
    -------
    BackupFile or None
        None when there is none.
    """
    found = [backup for folder in folders for backup in backups_in(folder)[:1]]
    return max(found, key=lambda backup: backup.when, default=None)


def backup_warning(newest: BackupFile | None, *, now: datetime, after_days: int = 7) -> str:
    """Return what stands in the footer about the age of the newest backup.

    Parameters
    ----------
    newest : BackupFile or None
        As found.
    now : datetime
        Now.
    after_days : int
        So many days are fine. [d]

    Returns
    -------
    str
        "" when all is well.
    """
    if newest is None:
        return "there is no backup yet"
    age = now - newest.when
    if age < timedelta(days=-1):
        return f"the newest backup is dated {newest.when:%Y-%m-%d}, after today: look at the clock"
    return f"the newest backup is {age.days} days old" if age > timedelta(days=after_days) else ""


def to_thin(backups: list[BackupFile], *, now: datetime) -> list[BackupFile]:
    """Return the backups that may go: all of a week are kept, then one a week for a year, then one a year for ever.

    Parameters
    ----------
    backups : list[BackupFile]
        Of one folder.
    now : datetime
        Now.

    Returns
    -------
    list[BackupFile]
        Never the newest one, never the longest one.
    """
    kept: set[tuple[int, ...]] = set()
    gone: list[BackupFile] = []
    longest = max((backup.length for backup in backups), default=0)
    for place, backup in enumerate(sorted(backups, key=lambda b: (b.when, b.length), reverse=True)):
        age = now - backup.when
        year, week, _ = backup.when.isocalendar()
        span = (year, week) if age < timedelta(days=366) else (backup.when.year,)
        if place == 0 or age < timedelta(days=7) or backup.length == longest or span not in kept:
            kept.add(span)
        else:
            gone.append(backup)
    return gone


def thin(folder: Path, *, now: datetime) -> list[BackupFile]:
    """Remove the backups of a folder that may go.

    Parameters
    ----------
    folder : Path
        Where backups lie.
    now : datetime
        Now.

    Returns
    -------
    list[BackupFile]
        Those that were removed.
    """
    gone = to_thin(backups_in(folder), now=now)
    for backup in gone:
        backup.path.unlink(missing_ok=True)
    return gone

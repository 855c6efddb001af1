"""Opening a record's file: settings set and read back, a new one made whole before it has its name."""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from bench.trail.disk import put_in_place
from bench.trail.errors import RecordDamagedError, RecordReadOnlyError
from bench.trail.schema import APPLICATION_ID, SCHEMA_VERSION, make_kept_tables, make_projections
from bench.trail.sqlite_faults import SQLITE_FAULTS, told

PATIENCE_S = 2.5
"""A virus scanner's short lock is waited out; a person does not notice it."""


def settle(connection: sqlite3.Connection, where: str, *, read_only: bool) -> None:
    """Set what a connection to a record needs, and read back what durability rests on.

    Parameters
    ----------
    connection : sqlite3.Connection
        Freshly opened.
    where : str
        The file, for messages.
    read_only : bool
        Only look.

    Raises
    ------
    RecordReadOnlyError
        When the file system does not keep the settings that durability rests on.
    """
    for setting in ("trusted_schema = OFF", "cell_size_check = ON", "recursive_triggers = ON", "mmap_size = 0"):
        connection.execute(f"PRAGMA {setting}")
    if read_only:
        connection.execute("PRAGMA query_only = ON")
        return
    # the last two matter on one family of drives only, where a plain sync stays in the drive's own memory
    for setting in ("journal_mode = WAL", "synchronous = FULL", "fullfsync = ON", "checkpoint_fullfsync = ON"):
        connection.execute(f"PRAGMA {setting}")
    read_back = durability(connection)
    if read_back != ("wal", 2):
        raise RecordReadOnlyError(
            where,
            found=f"journal {read_back[0]}, synchronous {read_back[1]}",
            wanted="wal and 2",
            do="keep the record on a disk of this computer, not in a network or synchronised folder",
        )


def durability(connection: sqlite3.Connection) -> tuple[str, int]:
    """Return the journal mode and the synchronous level as they are in force.

    Parameters
    ----------
    connection : sqlite3.Connection
        To a record.

    Returns
    -------
    tuple[str, int]
        ("wal", 2) when a commit waits for the drive.
    """
    mode = str(connection.execute("PRAGMA journal_mode").fetchone()[0]).lower()
    return mode, int(connection.execute("PRAGMA synchronous").fetchone()[0])


def connect(path: Path, *, mode: str) -> sqlite3.Connection:
    """Open a file as it is; nothing is made.

    Parameters
    ----------
    path : Path
        The file.
    mode : str
        What stands behind `?` in the address: "mode=rw", "mode=ro", "immutable=1".

    Returns
    -------
    sqlite3.Connection
        Without transactions of its own; shared by threads under the store's guard.
    """
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?{mode}",
        uri=True,
        isolation_level=None,
        timeout=PATIENCE_S,
        check_same_thread=False,
    )


def connect_to_look(path: Path) -> tuple[sqlite3.Connection, tempfile.TemporaryDirectory[str] | None]:
    """Open a file that may lie where nothing can be written.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    tuple[sqlite3.Connection, tempfile.TemporaryDirectory[str] or None]
        The second holds the copy that is looked at, where the file itself could not be opened.
    """
    connection = connect(path, mode="mode=ro")
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError as fault:
        connection.close()
        if getattr(fault, "sqlite_errorcode", 0) & 0xFF not in {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY}:
            raise
    except BaseException:
        connection.close()
        raise
    else:
        return connection, None
    ahead = path.with_name(path.name + "-wal")
    if not ahead.exists() or ahead.stat().st_size == 0:
        return connect(path, mode="mode=ro&immutable=1"), None
    # its newest entries lie in the file ahead, which SQLite will not read where it cannot write
    folder = tempfile.TemporaryDirectory(prefix="spinledger-look-")
    for part in (path, ahead):
        shutil.copyfile(part, Path(folder.name) / part.name)
    return connect(Path(folder.name) / path.name, mode="mode=rw"), folder


def make_record(path: Path, *, bench: str) -> None:
    """Make an empty record; it gets its name only when it is whole.

    Parameters
    ----------
    path : Path
        Where it is to be; nothing is there yet.
    bench : str
        Name of the bench whose chain it keeps.

    Raises
    ------
    RecordError
        When it cannot be made there.
    RecordDamagedError
        When something has got that name meanwhile.
    """
    half = path.with_name(f".{path.name}.half")
    try:
        half.unlink(missing_ok=True)
        with closing(connect(half, mode="mode=rwc")) as connection:
            fill_empty(connection, bench=bench)
        if path.exists():
            raise RecordDamagedError(str(path), found="a file came up there just now", do="try again")
        put_in_place(half, path)
    except SQLITE_FAULTS as fault:
        raise told(fault, str(path)) from fault
    except OSError as fault:
        raise RecordReadOnlyError(
            str(path), found=f"cannot be made ({fault.strerror})", do="choose a folder that can be written"
        ) from fault
    finally:
        for rest in ("", "-journal", "-wal", "-shm"):
            half.with_name(half.name + rest).unlink(missing_ok=True)


def fill_empty(connection: sqlite3.Connection, *, bench: str) -> None:
    """Make all tables in an empty file.

    Parameters
    ----------
    connection : sqlite3.Connection
        To the empty file.
    bench : str
        Name of the bench.
    """
    from sqlite_utils import Database

    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA recursive_triggers = ON")
    connection.execute("BEGIN IMMEDIATE")
    make_kept_tables(connection)
    make_projections(Database(connection))
    connection.execute("INSERT INTO bench (name) VALUES (?)", (bench,))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
    connection.execute("COMMIT")
    connection.execute("PRAGMA journal_mode = WAL")

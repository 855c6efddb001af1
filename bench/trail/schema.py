"""The record's tables. The trail is the truth; everything else can be rebuilt from it."""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

from bench.trail.errors import ForeignFileError, NewerRecordError, RecordDamagedError

if TYPE_CHECKING:
    from sqlite_utils import Database

APPLICATION_ID = 0x53504C47  # "SPLG"
SCHEMA_VERSION = 1

TRAIL = """
CREATE TABLE trail (
    seq  INTEGER PRIMARY KEY CHECK (seq > 0),
    id   TEXT NOT NULL UNIQUE,
    job  TEXT NOT NULL,
    kind TEXT NOT NULL,
    body BLOB NOT NULL,
    hash TEXT NOT NULL CHECK (length(hash) = 64)
) STRICT
"""
GUARDS = (
    "CREATE TRIGGER trail_keeps_updates_out BEFORE UPDATE ON trail "
    "BEGIN SELECT RAISE(ABORT, 'the trail is append-only'); END",
    "CREATE TRIGGER trail_keeps_deletes_out BEFORE DELETE ON trail "
    "BEGIN SELECT RAISE(ABORT, 'the trail is append-only'); END",
)


def settle(connection: sqlite3.Connection, *, read_only: bool) -> None:
    """Set what a connection to a record needs, and read it back.

    Parameters
    ----------
    connection : sqlite3.Connection
        Freshly opened.
    read_only : bool
        Only look.

    Raises
    ------
    RecordDamagedError
        When the file system does not keep the settings that durability rests on.
    """
    connection.execute("PRAGMA busy_timeout = 2500")
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.execute("PRAGMA recursive_triggers = ON")
    if read_only:
        connection.execute("PRAGMA query_only = ON")
        return
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    mode = str(connection.execute("PRAGMA journal_mode").fetchone()[0]).lower()
    synchronous = int(connection.execute("PRAGMA synchronous").fetchone()[0])
    if mode != "wal" or synchronous != 2:
        raise RecordDamagedError(
            "settings",
            found=f"journal {mode}, synchronous {synchronous}",
            wanted="wal and 2",
            do="keep the record on a disk of this computer, not on a network or synchronised folder",
        )


def make_tables(database: Database, *, bench: str) -> None:
    """Make the tables of a new record.

    Parameters
    ----------
    database : Database
        Empty.
    bench : str
        Name of the bench whose chain it keeps.
    """
    connection = database.conn
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute(TRAIL)
        connection.execute("CREATE INDEX trail_by_job ON trail (job, seq)")
        for guard in GUARDS:
            connection.execute(guard)
        database["bench"].create({"name": str}, strict=True)
        database["bench"].insert({"name": bench})
        database["job_lines"].create(
            {
                "number": str,
                "title": str,
                "customer": str,
                "engine": str,
                "opened_utc": str,
                "last_utc": str,
                "step": str,
                "simulated": int,
            },
            pk="number",
            strict=True,
        )
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
        if connection.in_transaction:
            connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def look_at_file(connection: sqlite3.Connection, where: str) -> bool:
    """Tell a record from anything else, before anything is written.

    Parameters
    ----------
    connection : sqlite3.Connection
        Opened, nothing set yet.
    where : str
        The file, for messages.

    Returns
    -------
    bool
        True when it is empty and tables are to be made.

    Raises
    ------
    ForeignFileError
        When it is something else.
    NewerRecordError
        When a newer program made it.
    RecordDamagedError
        When it cannot be read as a database.
    """
    try:
        application = int(connection.execute("PRAGMA application_id").fetchone()[0])
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        names = {str(row[0]) for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    except sqlite3.DatabaseError as fault:
        if isinstance(fault, sqlite3.OperationalError):
            raise
        raise ForeignFileError(
            where, found="no record, or a damaged one", do="restore the newest backup; the file was left untouched"
        ) from fault
    if application == 0 and version == 0 and not names:
        return True
    if application != APPLICATION_ID:
        raise ForeignFileError(
            where, found="a database of another program", do="name another file; it was left untouched"
        )
    if version > SCHEMA_VERSION:
        raise NewerRecordError(
            where,
            found=f"format {version}",
            wanted=f"format {SCHEMA_VERSION}",
            do="use the newer program; this one can only look",
        )
    if not {"trail", "bench", "job_lines"} <= names:
        raise RecordDamagedError(where, found="a table is missing", do="restore the newest backup")
    return False

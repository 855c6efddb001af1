"""What SQLite reports, told as a fault of the record with a next step."""

from __future__ import annotations

import sqlite3

from bench.trail.errors import (
    RecordBusyError,
    RecordDamagedError,
    RecordDeviceError,
    RecordError,
    RecordFullError,
    RecordReadOnlyError,
)

SqliteFault = sqlite3.Error | UnicodeDecodeError
SQLITE_FAULTS = (sqlite3.Error, UnicodeDecodeError)
"""What a damaged file can make SQLite's module raise: a message that quotes damaged text is itself no text."""


def told(fault: SqliteFault, where: str) -> RecordError:  # noqa: PLR0911 one fault a line
    """Return a fault of SQLite as a fault of the record.

    Parameters
    ----------
    fault : SqliteFault
        As raised.
    where : str
        The file.

    Returns
    -------
    RecordError
        To be raised from it.
    """
    code = getattr(fault, "sqlite_errorcode", 0) & 0xFF
    match code:
        case sqlite3.SQLITE_FULL:
            return RecordFullError(where, found="the disk is full", do="free some space; nothing was recorded")
        case sqlite3.SQLITE_BUSY | sqlite3.SQLITE_LOCKED:
            return RecordBusyError(where, found="another program is writing it", do="try again in a moment")
        case sqlite3.SQLITE_READONLY | sqlite3.SQLITE_PERM | sqlite3.SQLITE_CANTOPEN:
            return RecordReadOnlyError(
                where, found=f"cannot be opened to write ({fault})", do="look at the rights of the file and its folder"
            )
        case sqlite3.SQLITE_CORRUPT | sqlite3.SQLITE_NOTADB | sqlite3.SQLITE_FORMAT:
            return RecordDamagedError(where, found=f"the file is damaged ({fault})", do="restore the newest backup")
        case sqlite3.SQLITE_IOERR:
            return RecordDeviceError(
                where,
                found=f"the drive failed ({fault})",
                do="look at the drive, make a backup elsewhere, and open the record again; nothing was recorded",
            )
        case _ if "decode to UTF-8" in str(fault) or isinstance(fault, sqlite3.IntegrityError | UnicodeDecodeError):
            return RecordDamagedError(where, found=f"the file is damaged ({fault})", do="restore the newest backup")
        case _:
            return RecordError(where, found=str(fault), do="look at the disk; nothing was recorded")

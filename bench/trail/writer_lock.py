"""One writer a record: an advisory lock that ends with the process that holds it."""

from __future__ import annotations

import contextlib
import json
import os
import socket
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

_SHARING_FAULTS = {32, 33}
"""Windows: another program, a virus scanner for instance, has the file open for a moment."""
_PATIENCE_S = 2.5


class WriterLock:
    """The right to write a record.

    Parameters
    ----------
    record : Path
        The record's file; the lock lies beside it and stays there.
    """

    def __init__(self, record: Path) -> None:
        self._path = record.with_name(record.name + ".writer")
        self._file: IO[str] | None = None

    def take(self) -> bool:
        """Take the lock.

        Returns
        -------
        bool
            False when another program holds it.
        """
        file = self._path.open("a+", encoding="utf-8")
        try:
            if not _lock(file):
                file.close()
                return False
            file.seek(0)
            file.truncate()
            since = datetime.now(UTC).isoformat(timespec="seconds")
            json.dump({"process": os.getpid(), "computer": socket.gethostname(), "since": since}, file)
            file.flush()
        except BaseException:
            file.close()
            raise
        self._file = file
        return True

    def holder(self) -> str:
        """Return who has it since when, in words."""
        try:
            told = json.loads(self._path.read_text(encoding="utf-8"))
            since = datetime.fromisoformat(str(told["since"])).astimezone()
            computer = "".join(c for c in str(told["computer"]) if c.isalnum() or c in "-_.")[:64]
            return f"in use by process {int(told['process'])} on {computer} since {since:%Y-%m-%d %H:%M:%S}"
        except (OSError, ValueError, KeyError, TypeError, OverflowError):
            return "in use by another program"

    def release(self) -> None:
        """Give it back."""
        if self._file is not None:
            with contextlib.suppress(OSError):
                self._file.close()
            self._file = None


def take_or_tell(lock: WriterLock, record: Path) -> tuple[str, str]:
    """Take a lock, or say why not.

    Parameters
    ----------
    lock : WriterLock
        Of the record.
    record : Path
        The file.

    Returns
    -------
    tuple[str, str]
        Who has it since when, and why it cannot be written otherwise; both empty when it was taken.
    """
    if record.exists() and not os.access(record, os.W_OK):
        return "", "the file cannot be written"
    until = time.monotonic() + _PATIENCE_S
    while True:
        try:
            return ("", "") if lock.take() else (lock.holder(), "")
        except OSError as fault:
            if getattr(fault, "winerror", None) in _SHARING_FAULTS and time.monotonic() < until:
                time.sleep(0.05)
                continue
            return "", f"the folder cannot be written ({fault.strerror or fault})"


def _lock(file: IO[str]) -> bool:
    try:
        if sys.platform == "win32":  # pragma: no cover - on Windows only
            import msvcrt

            # a byte far behind the text, so that others can read who holds it
            file.seek(1 << 20)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError as fault:
        if isinstance(fault, PermissionError):  # how Windows says that another has it
            return False
        raise
    return True

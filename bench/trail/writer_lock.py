"""One writer a record: an advisory lock that ends with the process that holds it."""

from __future__ import annotations

import contextlib
import json
import os
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import IO


class WriterLock:
    """The right to write a record.

    Parameters
    ----------
    record : Path
        The record's file; the lock lies beside it.
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
        if not _lock(file):
            file.close()
            return False
        file.seek(0)
        file.truncate()
        since = datetime.now(UTC).isoformat(timespec="seconds")
        json.dump({"process": os.getpid(), "since": since}, file)
        file.flush()
        self._file = file
        return True

    def holder(self) -> str:
        """Return who has it, in words."""
        try:
            told = json.loads(self._path.read_text(encoding="utf-8"))
            return f"in use by process {int(told['process'])} since {told['since']}"
        except (OSError, ValueError, KeyError, TypeError):
            return "in use by another program"

    def release(self) -> None:
        """Give it back."""
        if self._file is not None:
            with contextlib.suppress(OSError):
                self._file.close()
            self._file = None


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
    except OSError:
        return False
    return True

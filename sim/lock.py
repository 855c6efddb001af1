"""A lock beside a file, so that two shops never write one state."""

from __future__ import annotations

import sys
import time
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO


class StateInUseError(Exception):
    """Another process keeps the lock.

    Parameters
    ----------
    path : Path
        The file that is locked.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path}: another shop is at work with this state; end it first, or use another file")
        self.path = path


@contextmanager
def locked(path: Path, *, patience_s: float = 5.0) -> Generator[None, None, None]:
    """Hold the lock of a file; the system lets go of it when the process dies.

    Parameters
    ----------
    path : Path
        The file.
    patience_s : float
        How long to wait for another holder to let go. [s]

    Yields
    ------
    None
        While the lock is held.

    Raises
    ------
    StateInUseError
        If another process keeps it.
    """
    give_up = time.monotonic() + patience_s
    with path.with_name(path.name + ".lock").open("a", encoding="utf-8") as handle:
        while not _held(handle):
            if time.monotonic() > give_up:
                raise StateInUseError(path)
            time.sleep(0.05)
        yield


def _held(handle: TextIO) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True

"""The bench's newest moment in one small file, for a wall screen in a process of its own.

Nothing is written while no wall asks: a wall touches a second file every second, and the bench looks at its age. So
the bench listens on nothing, and whatever happens to the wall cannot reach it.
"""

from __future__ import annotations

import json
import struct
import threading
import time
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from bench.wall.moments import Moment, moment_of

if TYPE_CHECKING:
    from bench.use_cases.view import BenchView

HEAD = struct.Struct("<4sQII")
MARK = b"SPLW"
LARGEST = 1_000_000
BEAT_S = 0.5
"""The file is written at least so often while a wall asks. [s]"""
WANTED_S = 5.0
"""A wall that has not asked for so long is gone. [s]"""


def wanted_file(live: Path) -> Path:
    """Return the file that a wall touches while it wants moments.

    Parameters
    ----------
    live : Path
        The live file.

    Returns
    -------
    Path
        Beside it.
    """
    return live.with_name(f"{live.name}.wanted")


class LiveWriter:
    """Writes the newest view, on a thread of its own: the desk hands it over and goes on.

    Parameters
    ----------
    live : Path
        The live file.
    """

    def __init__(self, live: Path) -> None:
        self._live, self._wanted = live, wanted_file(live)
        self._newest: BenchView | None = None
        self._event, self._ending = threading.Event(), threading.Event()
        self._count = 0
        self._thread = threading.Thread(target=self._run, name="wall", daemon=True)
        self._thread.start()

    def take(self, view: BenchView) -> None:
        """Take a view; returns at once.

        Parameters
        ----------
        view : BenchView
            The newest.
        """
        self._newest = view
        self._event.set()

    def start(self) -> None:
        """It runs already: links are started together with others that do not."""

    def stop(self) -> None:
        """End; the file is left as it is, and a wall sees that it grows old."""
        self._ending.set()
        self._event.set()
        self._thread.join(timeout=2.0)

    def _is_wanted(self) -> bool:
        try:
            return abs(time.time() - self._wanted.stat().st_mtime) < WANTED_S
        except OSError:
            return False

    def _run(self) -> None:
        wanted, looked = False, 0.0
        while not self._ending.is_set():
            self._event.wait(BEAT_S)
            self._event.clear()
            now = time.monotonic()
            if now - looked >= BEAT_S:
                wanted, looked = self._is_wanted(), now
            if wanted and self._newest is not None:
                self._write(self._newest)

    def _write(self, view: BenchView) -> None:
        body = json.dumps(moment_of(view), allow_nan=False).encode()
        self._count += 1
        data = HEAD.pack(MARK, self._count, len(body), zlib.crc32(body)) + body
        try:
            # in place, in one write: a reader that meets half of it sees the wrong sum and looks again
            with self._live.open("r+b" if self._live.exists() else "xb", buffering=0) as file:
                file.write(data)
        except OSError:
            return  # the wall grows old, which it tells by itself; the bench has other work


class LiveReader:
    """Reads the newest moment.

    Parameters
    ----------
    live : Path
        The live file; it need not exist.
    """

    def __init__(self, live: Path) -> None:
        self._live, self._wanted = live, wanted_file(live)
        self._seen: tuple[int, int] = (0, 0)
        self._changed_at = float("-inf")
        self._newest: Moment | None = None
        self._asked_at = float("-inf")

    def ask(self) -> None:
        """Say that moments are wanted; cheap to call often."""
        now = time.monotonic()
        if now - self._asked_at < 1.0:
            return
        self._asked_at = now
        try:
            self._wanted.touch()
        except OSError:
            return

    def look(self) -> Moment | None:
        """Return the newest moment, None when the bench has not written for a while.

        Returns
        -------
        Moment or None
            The same object until a newer one is there.
        """
        self.ask()
        found = self._read()
        now = time.monotonic()
        if found is not None and found[0] != self._seen:
            # what an earlier run of the bench left behind is old, however it came here
            if self._seen != (0, 0):
                self._changed_at = now
                self._newest = found[1]
            self._seen = found[0]
        return self._newest if now - self._changed_at < 4 * BEAT_S else None

    def _read(self) -> tuple[tuple[int, int], Moment] | None:
        try:
            with self._live.open("rb", buffering=0) as file:
                data = file.read(HEAD.size + LARGEST)
        except OSError:
            return None
        if len(data) < HEAD.size:
            return None
        mark, count, length, total = HEAD.unpack_from(data)
        body = data[HEAD.size : HEAD.size + length]
        if mark != MARK or len(body) != length or zlib.crc32(body) != total:
            return None
        if (count, total) == self._seen:
            return self._seen, {}
        found: Any = json.loads(body)
        return ((count, total), cast("Moment", found)) if isinstance(found, dict) else None

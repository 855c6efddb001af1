"""Recording of a link, bytes and states with their times, and its replay.

A recording is a text file, one JSON object a line: ``{"t": nanoseconds since the first, "hex": "..."}`` for bytes and
``{"t": ..., "state": "lost", "detail": "...", "remedy": "..."}`` for a change of state. The first line is
``{"recording": 1}``.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO, cast

from drivers.contract import LinkChange, LinkItem, LinkSink, LinkState

_HEAD = {"recording": 1}
_STOP_WAIT_S = 0.8


class RecordingError(ValueError):
    """A recording that cannot be read, with file and line.

    Parameters
    ----------
    path : Path
        The file.
    line : int
        Counted from 1.
    found : str
        What stands there.
    """

    def __init__(self, path: Path, *, line: int, found: str) -> None:
        super().__init__(f"{path.name}, line {line}: found {found}; wanted a recording made by this program")
        self.path = path
        self.line = line
        self.found = found


class RecordingSink:
    """Writes down what a link delivers and passes it on.

    Parameters
    ----------
    path : Path
        The file to write; it must not exist yet.
    onward : LinkSink | None
        Where everything goes after it is written.

    Raises
    ------
    FileExistsError
        If there is a file of that name.
    """

    def __init__(self, path: Path, onward: LinkSink | None = None) -> None:
        self._file: IO[str] | None = path.open("x", encoding="ascii", newline="\n")
        self._onward = onward
        self._first_ns: int | None = None
        self._lock = threading.Lock()
        self._write(_HEAD)

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        """Write bytes down and pass them on.

        Parameters
        ----------
        chunk : bytes
            The bytes.
        at_ns : int
            Monotonic moment of arrival. [ns]
        """
        self._write({"t": self._since(at_ns), "hex": chunk.hex()})
        if self._onward is not None:
            self._onward.bytes_came(chunk, at_ns)

    def link_changed(self, change: LinkChange) -> None:
        """Write a change down and pass it on.

        Parameters
        ----------
        change : LinkChange
            The change.
        """
        words = {"state": change.state.value, "detail": change.detail, "remedy": change.remedy}
        self._write({"t": self._since(change.at_ns), **words})
        if self._onward is not None:
            self._onward.link_changed(change)

    def close(self) -> None:
        """Close the file; what comes later is only passed on."""
        with self._lock:
            if self._file is not None:
                self._file.close()
                self._file = None

    def _since(self, at_ns: int) -> int:
        if self._first_ns is None:
            self._first_ns = at_ns
        return at_ns - self._first_ns

    def _write(self, record: dict[str, object] | dict[str, int]) -> None:
        with self._lock:
            if self._file is not None:
                self._file.write(json.dumps(record) + "\n")
                self._file.flush()


def read_recording(path: Path) -> Iterator[tuple[int, LinkItem]]:
    """Read a recording.

    Parameters
    ----------
    path : Path
        The file.

    Yields
    ------
    tuple[int, LinkItem]
        Time since the first item [ns] and what came.

    Raises
    ------
    RecordingError
        If a line is none of a recording.
    """
    with path.open(encoding="ascii", errors="backslashreplace") as file:
        for number, line in enumerate(file, start=1):
            item = _read_line(line, first=number == 1)
            if item is None:
                raise RecordingError(path, line=number, found=repr(line[:60]))
            if number > 1:
                yield item


def _read_line(line: str, *, first: bool) -> tuple[int, LinkItem] | None:
    """Return what a line holds; None when it is none of a recording."""
    try:
        record = json.loads(line)
        if first:
            return (0, b"") if record == _HEAD else None
        return _item(cast("dict[str, object]", record))
    except (ValueError, KeyError, TypeError, AttributeError):
        return None


def _item(record: dict[str, object]) -> tuple[int, LinkItem]:
    since_ns = int(cast("int", record["t"]))
    if "hex" in record:
        return since_ns, bytes.fromhex(cast("str", record["hex"]))
    state = LinkState(cast("str", record["state"]))
    return since_ns, LinkChange(since_ns, state, str(record["detail"]), str(record["remedy"]))


class ReplayLink:
    """Plays a recording back as if the instrument were there.

    Parameters
    ----------
    path : Path
        The recording.
    sink : LinkSink
        Where it goes, from the replay's own thread.
    speed : float
        1 keeps the recorded times, 10 is ten times as fast, 0 waits for nothing.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    def __init__(
        self, path: Path, sink: LinkSink, *, speed: float = 1.0, clock_ns: Callable[[], int] = time.monotonic_ns
    ) -> None:
        self._path = path
        self._sink = sink
        self._speed = speed
        self._clock_ns = clock_ns
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to play."""
        self._thread = threading.Thread(target=self._run, name="replay", daemon=True)
        self._thread.start()

    def send(self, data: bytes) -> None:
        """Do nothing: a recording does not listen.

        Parameters
        ----------
        data : bytes
            Dropped.
        """

    def wait(self, timeout_s: float) -> bool:
        """Wait for the end.

        Parameters
        ----------
        timeout_s : float
            Longest wait. [s]

        Returns
        -------
        bool
            True when the recording has been played to its end.
        """
        thread = self._thread
        if thread is not None:
            thread.join(timeout_s)
        return thread is None or not thread.is_alive()

    def stop(self) -> None:
        """Stop playing."""
        self._stopping.set()
        self.wait(_STOP_WAIT_S)
        self._thread = None

    def _run(self) -> None:
        begun_ns = self._clock_ns()
        try:
            for since_ns, item in read_recording(self._path):
                at_ns = begun_ns + (int(since_ns / self._speed) if self._speed > 0 else since_ns)
                if self._speed > 0 and self._stopping.wait(max(0.0, (at_ns - self._clock_ns()) / 1e9)):
                    return
                if self._stopping.is_set():
                    return
                self._give(item, at_ns)
            self._give(LinkChange(0, LinkState.CLOSED, "end of the recording"), self._clock_ns())
        except (OSError, RecordingError) as error:
            remedy = "name a recording made by this program"
            self._give(LinkChange(0, LinkState.ABSENT, str(error), remedy), self._clock_ns())

    def _give(self, item: LinkItem, at_ns: int) -> None:
        if isinstance(item, bytes):
            self._sink.bytes_came(item, at_ns)
        else:
            self._sink.link_changed(LinkChange(at_ns, item.state, item.detail, item.remedy))

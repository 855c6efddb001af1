"""A folder in which a balancing machine leaves its texts: each is delivered once, when it is whole."""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from drivers.contract import ExportText, LinkChange, LinkState
from drivers.links.export_files import ExportFileError, read_export_file
from drivers.links.port_errors import REMEDIES

_STOP_WAIT_S = 0.8
_FILES_CAP = 10_000


@dataclass(frozen=True, slots=True)
class _Facts:
    size: int
    mtime_ns: int
    inode: int


class WatchedFolder:
    """Looks into a folder again and again.

    Parameters
    ----------
    path : Path
        The folder; it may come and go.
    on_text : Callable[[ExportText], None]
        Takes each new text, from the watch's own thread.
    on_trouble : Callable[[ExportFileError], None] | None
        Takes each file that is not read, once for each state of the file.
    on_change : Callable[[LinkChange], None] | None
        Takes the folder's coming and going.
    stable_for_s : float
        How long size and time of a file must rest before it is read; it looks four times as often. [s]
    seen : Iterable[str]
        Digests of texts that are known already.
    pattern : str
        Which files count, for instance ``*.txt``.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    def __init__(
        self,
        path: Path,
        on_text: Callable[[ExportText], None],
        *,
        on_trouble: Callable[[ExportFileError], None] | None = None,
        on_change: Callable[[LinkChange], None] | None = None,
        stable_for_s: float = 2.0,
        seen: Iterable[str] = (),
        pattern: str = "*",
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._path = path
        self._on_text = on_text
        self._on_trouble = on_trouble
        self._on_change = on_change
        self._stable_ns = int(stable_for_s * 1e9)
        self._look_every_s = stable_for_s / 4
        self._seen = set(seen)
        self._pattern = pattern
        self._clock_ns = clock_ns
        self._resting: dict[Path, tuple[_Facts, int]] = {}
        self._done: dict[Path, _Facts] = {}
        self._state = LinkState.CLOSED
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to look."""
        if self._thread is not None:
            return
        self._stopping = threading.Event()
        args = (self._stopping,)
        self._thread = threading.Thread(target=self._run, args=args, name="watched folder", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Stop looking; returns within a second."""
        thread, self._thread = self._thread, None
        if thread is None:
            return
        self._stopping.set()
        if thread is not threading.current_thread():
            thread.join(_STOP_WAIT_S)
        self._tell(LinkState.CLOSED)

    def look(self) -> None:
        """Look once, as the thread does; texts and troubles are delivered before it returns."""
        try:
            files = [path for path in self._path.glob(self._pattern) if not path.name.startswith(".")]
            if not self._path.is_dir():
                raise FileNotFoundError(2, "no such folder")
        except OSError as error:
            forbidden = isinstance(error, PermissionError)
            self._tell(LinkState.FORBIDDEN if forbidden else LinkState.ABSENT, error.strerror or "")
            return
        self._tell(LinkState.OPEN)
        present = set(files)
        self._resting = {path: rest for path, rest in self._resting.items() if path in present}
        self._done = {path: facts for path, facts in self._done.items() if path in present}
        for path in sorted(files)[:_FILES_CAP]:
            self._look_at(path)

    def _look_at(self, path: Path) -> None:
        facts = _facts(path)
        if facts is None or self._done.get(path) == facts:
            return
        resting = self._resting.get(path)
        now_ns = self._clock_ns()
        if resting is None or resting[0] != facts:
            self._resting[path] = (facts, now_ns)
            return
        if now_ns - resting[1] < self._stable_ns or (facts.size == 0 and path.is_file()):
            return
        try:
            text = read_export_file(path, at_ns=now_ns)
        except ExportFileError as error:
            self._done[path] = facts
            if self._on_trouble is not None and not path.is_dir():
                self._on_trouble(error)
            return
        if _facts(path) != facts or len(text.data) != facts.size:
            # Written to while it was read: it has to rest again.
            self._resting.pop(path, None)
            return
        self._done[path] = facts
        self._resting.pop(path, None)
        # A line end that comes late makes no new text.
        body = hashlib.sha256(text.data.rstrip()).hexdigest()
        known = self._seen & {text.sha256, body}
        self._seen |= {text.sha256, body}
        if not known:
            self._on_text(text)

    def _run(self, stopping: threading.Event) -> None:
        while not stopping.is_set():
            self.look()
            stopping.wait(self._look_every_s)

    def _tell(self, state: LinkState, detail: str = "") -> None:
        if state is self._state:
            return
        self._state = state
        if self._on_change is not None:
            remedy = REMEDIES[state]
            if state is LinkState.ABSENT:
                remedy = "check the folder's name, or that the drive it is on is connected"
            elif state is LinkState.FORBIDDEN:
                remedy = "give this user the right to read the folder"
            self._on_change(LinkChange(self._clock_ns(), state, detail, remedy))


def _facts(path: Path) -> _Facts | None:
    try:
        facts = path.stat()
    except OSError:
        return None
    return _Facts(facts.st_size, facts.st_mtime_ns, facts.st_ino)

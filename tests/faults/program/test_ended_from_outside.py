"""The dashboard is ended by a signal or its window is closed: the terminal is as it was before."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = [
    pytest.mark.skipif(sys.platform == "win32", reason="pseudo terminals are POSIX"),
    pytest.mark.filterwarnings("ignore:This process.*fork:DeprecationWarning"),
]
MODES = (("?1049", "main screen"), ("?1000", "mouse"), ("?1003", "mouse moves"), ("?2004", "paste"))


def read_some(number: int, wait_s: float) -> bytes:
    if not select.select([number], [], [], wait_s)[0]:
        return b""
    try:
        return os.read(number, 65536)
    except OSError:  # how Linux says that the other end is closed
        return b""


def ended_by(home: Path, number: int, *, after_s: float) -> tuple[int, str]:
    """Start the dashboard on a pseudo terminal, end it, and return its exit code and all it sent."""
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    environment = os.environ | {"SPINLEDGER_HOME": str(home), "TERM": "xterm-256color"}
    child = subprocess.Popen(
        [sys.executable, "-m", "bench.command_line.main"],
        stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True,
    )  # fmt: skip
    os.close(theirs)
    sent = b""
    try:
        until = time.monotonic() + 60
        while b"?1049h" not in sent and time.monotonic() < until:
            sent += read_some(ours, 1.0)
        assert b"?1049h" in sent, sent[-2000:]
        until = time.monotonic() + after_s
        while time.monotonic() < until:
            sent += read_some(ours, 0.05)
        child.send_signal(number)
        until = time.monotonic() + 30
        while time.monotonic() < until:
            piece = read_some(ours, 0.5)
            sent += piece
            if not piece and child.poll() is not None:
                break
        code = child.wait(timeout=10)
    finally:
        if child.poll() is None:
            child.kill()
            child.wait()
        os.close(ours)
    return code, sent.decode("utf-8", "replace")


def left_on(sent: str) -> list[str]:
    """What a terminal still has on after all that was sent."""
    wrong = [words for mode, words in MODES if sent.rfind(f"\x1b[{mode}h") > sent.rfind(f"\x1b[{mode}l")]
    if sent.rfind("\x1b[?25l") > sent.rfind("\x1b[?25h"):
        wrong.append("the cursor is hidden")
    return wrong


def test_the_judge_sees_what_it_looks_for() -> None:
    assert left_on("\x1b[?1049h\x1b[?25l") == ["main screen", "the cursor is hidden"]
    assert left_on("\x1b[?1049h\x1b[?1000h\x1b[?1000l\x1b[?1049l\x1b[?25h") == []


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP], ids=["terminate", "hang up"])
def test_the_terminal_is_as_it_was(tmp_path: Path, number: signal.Signals) -> None:
    code, sent = ended_by(tmp_path, number, after_s=1.0)
    assert left_on(sent) == []
    assert code == 143


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_a_hundred_times(tmp_path: Path) -> None:
    for n in range(100):
        number = (signal.SIGTERM, signal.SIGHUP)[n % 2]
        code, sent = ended_by(tmp_path, number, after_s=0.02 * n)
        assert left_on(sent) == [], n
        assert code == 143, n

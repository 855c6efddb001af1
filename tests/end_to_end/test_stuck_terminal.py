"""A terminal that takes nothing any more, as with a frozen link: the program still ends when it is told to."""

from __future__ import annotations

import os
import select
import signal
import struct
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bench.command_line.main import LONGEST_FAREWELL_S

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(sys.platform == "win32", reason="terminals are made with pty"),
]


@pytest.mark.parametrize("closed", [False, True], ids=["stuck", "stuck, then gone"])
def test_it_ends_in_time_though_nobody_reads_what_it_paints(tmp_path: Path, closed: bool) -> None:
    import fcntl
    import pty
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    environment = {**os.environ, "SPINLEDGER_HOME": str(tmp_path / "home"), "TERM": "xterm-256color"}
    program = subprocess.Popen(
        [sys.executable, "-m", "bench.command_line.main", "demo", "--pace", "20"],
        env=environment,
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        start_new_session=True,
    )
    os.close(theirs)
    open_end = ours
    try:
        seen = b""
        while b"SIMULATED" not in seen:
            assert select.select([ours], [], [], 60)[0]
            seen = seen[-100_000:] + os.read(ours, 65536)
        time.sleep(4.0)
        began = time.monotonic()
        program.send_signal(signal.SIGTERM)
        if closed:
            time.sleep(0.5)
            os.close(ours)
            open_end = -1
        assert program.wait(timeout=LONGEST_FAREWELL_S + 10.0) == 143
        assert time.monotonic() - began < LONGEST_FAREWELL_S + 5.0
    finally:
        if program.poll() is None:
            program.kill()
            program.wait()
        if open_end >= 0:
            os.close(open_end)

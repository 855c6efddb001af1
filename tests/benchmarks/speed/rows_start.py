"""Starting: from the call to the first output, and to the first painted screen."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from rows import Pairs, Row

TOLERANCE = {
    "grade_mm_per_s": 6.3,
    "rotor_mass_kg": 25.0,
    "speed_rpm": 3000.0,
    "distances_mm": {"a": 100.0, "b": 150.0},
}
ROUNDS = 9
FIRST_RUNS = 5
LONGEST_FIRST_RUN_S = 10.0

BARE = """
from textual.app import App
from textual.widgets import DataTable
class Bare(App):
    def compose(self):
        yield DataTable()
    def on_mount(self):
        table = self.query_one(DataTable)
        table.add_columns(*"abcdef")
        for row in range(8):
            table.add_row(*[f"{row}{c}" for c in "abcdef"])
async def once(pilot):
    await pilot.pause()
    pilot.app.exit()
Bare().run(headless=True, size=(120, 40), auto_pilot=once)
"""
OURS = """
from bench.command_line.collecting import collect_as_usual, collect_rarely, leave_uncollected
collect_rarely()
from pathlib import Path
from bench.command_line.places import Places
from bench.command_line.settings import Settings
from bench.command_line.wiring import start_bench
running = start_bench(Places(Path({home!r})), Settings())
from bench.screens.app import BenchApp
async def once(pilot):
    await pilot.pause()
    pilot.app.exit()
app = BenchApp(running.desk)
app.after_first_paint = collect_as_usual
app.run(headless=True, size=(120, 40), auto_pilot=once)
running.stop()
leave_uncollected()
"""


def _environment(home: Path) -> dict[str, str]:
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("SPINLEDGER_", "COVERAGE_"))}
    return kept | {"SPINLEDGER_HOME": str(home)}


def _seconds(words: list[str], home: Path, text: str = "") -> float:
    began = time.perf_counter()
    subprocess.run(words, env=_environment(home), input=text, text=True, capture_output=True, check=True)
    return time.perf_counter() - began


def _command(*words: str, text: str = "") -> Pairs:
    def pairs(folder: Path) -> Iterator[tuple[float, float]]:
        ours = [sys.executable, "-m", "bench.command_line.main", *words]
        _seconds(ours, folder, text)
        for _ in range(ROUNDS):
            yield _seconds(ours, folder, text), _seconds([sys.executable, "-c", "pass"], folder)

    return pairs


def _paint(folder: Path) -> Iterator[tuple[float, float]]:
    ours = [sys.executable, "-c", OURS.format(home=str(folder))]
    _seconds(ours, folder)
    for _ in range(ROUNDS):
        yield _seconds(ours, folder), _seconds([sys.executable, "-c", BARE], folder)


def _first_run(folder: Path) -> Iterator[tuple[float, float]]:
    """From the command to a painted bench that is marked SIMULATED, on a terminal, each time with an empty record."""
    for number in range(FIRST_RUNS):
        yield _until_simulated(folder / f"home-{number}"), LONGEST_FIRST_RUN_S


def _until_simulated(home: Path) -> float:
    import fcntl
    import pty
    import select
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    words = [sys.executable, "-m", "bench.command_line.main", "demo"]
    began = time.perf_counter()
    program = subprocess.Popen(
        words, env=_environment(home) | {"TERM": "xterm-256color"}, stdin=theirs, stdout=theirs, stderr=theirs
    )
    os.close(theirs)
    try:
        seen = b""
        while b"SIMULATED" not in seen:
            if not select.select([ours], [], [], 3 * LONGEST_FIRST_RUN_S)[0]:
                raise TimeoutError("nothing was painted")
            seen = seen[-100_000:] + os.read(ours, 65536)
        return time.perf_counter() - began
    finally:
        program.terminate()
        # what it still paints has to go somewhere, or it never ends
        while program.poll() is None:
            if select.select([ours], [], [], 0.1)[0]:
                with contextlib.suppress(OSError):
                    os.read(ours, 65536)
        os.close(ours)


ROWS = [
    Row("`--version`, to the end", "`python -c pass`", "at most", 4.0, _command("--version")),
    Row("`--help`, to the end", "`python -c pass`", "at most", 4.0, _command("--help")),
    Row("`job list`, to the end", "`python -c pass`", "at most", 10.0, _command("job", "list")),
    Row(
        "`calc tolerance`, to the end",
        "`python -c pass`",
        "at most",
        10.0,
        _command("calc", "tolerance", text=json.dumps(TOLERANCE)),
    ),
    Row("the dashboard's first paint", "a bare Textual program with one table", "at most", 1.5, _paint),
    Row("from `demo` to a painted bench marked SIMULATED", "ten seconds", "at most", 1.0, _first_run),
]

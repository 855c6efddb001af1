"""The dashboard's memory over many hours of readings: `python dashboard_memory.py HOURS` prints JSON.

Ten lines a second are handed to the bench as fast as it takes them, a part is laid and lifted every half minute, and
now and then a note is written and another step is looked at. Resident memory is read after the first half hour and at
the end.
"""

from __future__ import annotations

import json
import sys
import tempfile
import threading
import time
from pathlib import Path

from bench.command_line.collecting import collect_as_usual, collect_rarely
from bench.command_line.places import Places
from bench.command_line.settings import Settings
from bench.command_line.wiring import start_bench
from bench.screens.app import BenchApp
from bench.use_cases.commands import CreateJob, ShowStep, WriteNote
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.view import Step

LINES_AN_HOUR = 36_000
PERIOD = 300
"""Lines from one laying to the next: half a minute."""


def resident_mb() -> float:
    """Resident memory of this process [MB]."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1000
    return float("nan")


def line(number: int) -> bytes:
    """What the scale says: empty, a part on for two thirds of the period, empty."""
    at = number % PERIOD
    grams = 586.4 + 0.1 * (number // PERIOD % 7) if 60 <= at < 240 else 0.0
    word = b"moves" if at in {60, 61, 62, 240, 241} else b"still"
    return b"wt %+08.1f g %s\r\n" % (grams, word)


def main() -> None:
    lines = int(float(sys.argv[1]) * LINES_AN_HOUR)
    collect_rarely()  # as the program does
    seen: list[float] = []
    with tempfile.TemporaryDirectory() as home:
        running = start_bench(Places(Path(home)), Settings(by="MK"))
        running.desk.ask(CreateJob(demo_spec()))
        app = BenchApp(running.desk)
        app.after_first_paint = collect_as_usual

        heard = [0]

        def count(_line: object) -> None:
            heard[0] += 1

        running.desk.watch_lines(count)

        def feed() -> None:
            time.sleep(1.0)
            base = running.clock()
            for number in range(lines):
                if number == min(LINES_AN_HOUR // 2, lines // 4):
                    seen.append(resident_mb())
                if number % (40 * PERIOD) == 0:
                    running.desk.ask(WriteNote(f"looked at line {number}"))
                    running.desk.ask(ShowStep((Step.WEIGH, Step.BOBWEIGHTS, Step.SPIN)[number // (40 * PERIOD) % 3]))
                running.desk.bytes_came(line(number), base + number * 100_000_000)
                # lines that wait for the bench are no growth of the dashboard
                while number - heard[0] > 200:
                    time.sleep(0.002)
            time.sleep(0.5)
            seen.append(resident_mb())
            app.call_from_thread(app.exit)

        threading.Thread(target=feed).start()
        app.run(headless=True, size=(120, 40))
        running.stop()
    print(json.dumps({"lines": lines, "early_mb": seen[0], "late_mb": seen[1]}))


if __name__ == "__main__":
    main()

"""A scale on a pseudo-terminal, the whole bench, the dashboard without a screen: from a written line to what is painted.

python dashboard_delay.py LINES_PER_S SECONDS prints JSON: p50 and p99 delay [s], share of a core.
"""

from __future__ import annotations

import json
import os
import random
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path

from textual.app import App

from bench.command_line.collecting import collect_as_usual, collect_rarely
from bench.command_line.places import Places
from bench.command_line.settings import Settings
from bench.command_line.wiring import connect_instruments, start_bench
from bench.screens.app import BenchApp
from bench.use_cases.commands import CreateJob
from bench.use_cases.demo_job import demo_spec

PAINTED: list[float] = []
"""Moments at which something was painted. [s]"""


def main() -> None:
    rate, seconds = float(sys.argv[1]), float(sys.argv[2])
    collect_rarely()  # as the program does
    paint = App._display

    def painting(app: App[object], *given: object) -> None:
        paint(app, *given)
        PAINTED.append(time.perf_counter())

    App._display = painting
    ours, theirs = os.openpty()
    with tempfile.TemporaryDirectory() as home:
        running = start_bench(Places(Path(home)), Settings(by="MK"))
        running.desk.ask(CreateJob(demo_spec()))
        connect_instruments(running, Places(Path(home)), scale_url=os.ttyname(theirs))
        app = BenchApp(running.desk)
        app.after_first_paint = collect_as_usual
        written: list[float] = []
        used: list[float] = []

        def write_lines() -> None:
            rng, value = random.Random(1), 400.0
            time.sleep(2.0)
            began = time.process_time()
            until = time.perf_counter() + seconds
            due = time.perf_counter()
            while time.perf_counter() < until:
                value += rng.choice((-1.7, 0.9, 2.3))
                written.append(time.perf_counter())
                os.write(ours, b"wt +%07.1f g moves\r\n" % value)
                due += 1.0 / rate
                time.sleep(max(0.0, due - time.perf_counter()))
            used.append(time.process_time() - began)
            time.sleep(0.3)
            app.call_from_thread(app.exit)

        thread = threading.Thread(target=write_lines)
        thread.start()
        app.run(headless=True, size=(120, 40))
        thread.join()
        running.stop()
    delays, at = [], 0
    for moment in written:
        while at < len(PAINTED) and PAINTED[at] <= moment:
            at += 1
        if at < len(PAINTED):
            delays.append(PAINTED[at] - moment)
    delays.sort()
    print(
        json.dumps(
            {
                "lines": len(written),
                "painted": len(PAINTED),
                "p50_s": statistics.median(delays),
                "p99_s": delays[int(0.99 * (len(delays) - 1))],
                "core": used[0] / seconds,
            }
        )
    )


if __name__ == "__main__":
    main()

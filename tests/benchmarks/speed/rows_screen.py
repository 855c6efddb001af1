"""What a technician sees: a line of the scale until it is painted, and what that costs."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from rows import Pairs, Row

HERE = Path(__file__).parent
LINE_CHARACTERS = len("wt +00400.0 g moves\r\n")
WIRE_S = LINE_CHARACTERS * 10 / 9600
"""A line's own time on the wire: ten bits a character at 9600 baud. [s]"""


@cache
def _run(rate: int, turn: int) -> dict[str, float]:
    words = [sys.executable, str(HERE / "dashboard_delay.py"), str(rate), "20"]
    kept = {key: value for key, value in os.environ.items() if not key.startswith("SPINLEDGER_")}
    told = subprocess.run(words, env=kept, capture_output=True, text=True, check=True).stdout
    figures: dict[str, float] = json.loads(told)
    print(f"<!-- {rate} lines/s, turn {turn}: {told.strip()} -->", file=sys.stderr)
    return figures


def _delay(rate: int) -> Pairs:
    def pairs(_folder: Path) -> Iterator[tuple[float, float]]:
        for turn in range(3):
            yield _run(rate, turn)["p99_s"], WIRE_S

    return pairs


def _core(_folder: Path) -> Iterator[tuple[float, float]]:
    for turn in range(3):
        yield _run(10, turn)["core"], 1.0


HOURS = os.environ.get("SPINLEDGER_BENCH_HOURS", "40")


def _memory(_folder: Path) -> Iterator[tuple[float, float]]:
    words = [sys.executable, str(HERE / "dashboard_memory.py"), HOURS]
    told = json.loads(subprocess.run(words, capture_output=True, text=True, check=True).stdout)
    yield told["late_mb"], told["early_mb"]


ROWS = [
    Row("p99 from a written line to painted digits, 10 lines/s", "the line on the wire", "at most", 1.0, _delay(10)),
    Row("p99 from a written line to painted digits, 56 lines/s", "the line on the wire", "at most", 1.0, _delay(56)),
    Row("the whole dashboard at 10 lines/s", "one core", "at most", 0.12, _core, unit="cores"),
    Row(f"memory of the dashboard after {HOURS} h of readings", "at the start", "at most", 1.1, _memory, unit="MB"),
]

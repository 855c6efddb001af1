"""Starts the hands-off demo as a process of its own and reads what it left behind."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bench.models.job_state import JobState
from bench.trail.clock import SystemClock
from bench.trail.fold import fold
from bench.trail.sqlite_store import open_record

PACE = 40


def command(*words: str) -> list[str]:
    return [sys.executable, "-m", "bench.command_line.main", *words]


def environment(home: Path) -> dict[str, str]:
    kept = {key: value for key, value in os.environ.items() if not key.startswith("SPINLEDGER_")}
    return kept | {"SPINLEDGER_HOME": str(home), "PYTHONUNBUFFERED": "1"}


@dataclass(frozen=True)
class Played:
    code: int
    lines: list[str]
    talk: str
    home: Path

    @property
    def demo(self) -> Path:
        return self.home / "demo"

    @property
    def truth(self) -> dict[str, Any]:
        (path,) = self.demo.glob("shop-*/truth.json")
        return json.loads(path.read_text())

    @property
    def state(self) -> JobState:
        trail = open_record(self.demo / "record.db", bench="t", clock=SystemClock(), app_version="t", read_only=True)
        try:
            assert trail.verify() is None
            return fold(trail.events(job=trail.jobs()[0].number))
        finally:
            trail.close()


def play(home: Path, *words: str, timeout_s: float = 240.0) -> Played:
    done = subprocess.run(
        command("demo", "--hands-off", "--pace", str(PACE), *words),
        env=environment(home),
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=timeout_s,
        check=False,
    )
    return Played(done.returncode, done.stdout.splitlines(), done.stderr, home)

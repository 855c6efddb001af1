"""The record: appending, reading back, proving and finding, beside the least that any program would have to do."""

from __future__ import annotations

import atexit
import hashlib
import os
import shutil
import sqlite3
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import cache
from itertools import chain
from pathlib import Path
from tempfile import mkdtemp

from rows import Row

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[2] / "trail"))

from filled_record import filled
from trail_pieces import opening, record, weight

from bench.trail.fold import fold
from bench.trail.sqlite_store import SqliteTrail

ROUNDS = 5
JOBS, EVENTS_EACH = int(os.environ.get("SPINLEDGER_BENCH_JOBS", "10000")), 100


@cache
def _made(jobs: int, events_each: int) -> Path:
    """One record for all rows that need such a one."""
    folder = Path(mkdtemp(prefix="spinledger-bench-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    filled(folder / "large.db", jobs=jobs, events_each=events_each).close()
    return folder / "large.db"


def _long() -> Path:
    return _made(JOBS, EVENTS_EACH)


def _of_many_jobs() -> Path:
    return _made(10 * JOBS, 5)


def timed(what: Callable[[], object]) -> float:
    """Seconds that a call takes."""
    began = time.perf_counter()
    what()
    return time.perf_counter() - began


def _syncs(file: int, size: int, count: int) -> list[float]:
    sync = getattr(os, "fdatasync", os.fsync)
    return [timed(lambda: (os.write(file, b"x" * size), sync(file))) for _ in range(count)]


def _appends(trail: SqliteTrail, count: int) -> list[float]:
    return [timed(lambda n=n: trail.append([weight(place=1 + n % 2)])) for n in range(count)]


def _append(folder: Path) -> Iterator[tuple[float, float]]:
    file = os.open(folder / "plain", os.O_CREAT | os.O_WRONLY, 0o600)
    for number in range(ROUNDS):
        trail = record(folder / f"{number}.db")
        trail.append([opening()])
        ahead = trail.path.with_name(trail.path.name + "-wal")
        before = ahead.stat().st_size
        trail.append([weight()])
        size = max(ahead.stat().st_size - before, 4096)
        # ten of each in turn, so that a slow drive is slow for both
        turns = [(_appends(trail, 10), _syncs(file, size, 10)) for _ in range(6)]
        trail.close()
        yield tuple(statistics.median(chain.from_iterable(times)) for times in zip(*turns, strict=True))
    os.close(file)


def _bodies(path: Path) -> Iterator[bytes]:
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
        for (body,) in connection.execute("SELECT body FROM trail ORDER BY seq"):
            yield body


def _read(path: Path) -> int:
    return sum(len(body) for body in _bodies(path))


def _hash(path: Path) -> str:
    return [hashlib.sha256(body).hexdigest() for body in _bodies(path)][-1]


def _fold(_folder: Path) -> Iterator[tuple[float, float]]:
    trail = record(_long())
    jobs = [line.number for line in trail.jobs()]

    def every_job() -> None:
        for number in jobs:
            fold(trail.events(job=number))

    def rows_only() -> None:
        for number in jobs:
            trail.connection.execute("SELECT body FROM trail WHERE job = ? ORDER BY seq", (number,)).fetchall()

    rows_only()
    yield timed(every_job), timed(rows_only)
    trail.close()


def _verify(_folder: Path) -> Iterator[tuple[float, float]]:
    path = _long()
    trail = record(path)
    for _ in range(3):
        yield timed(trail.verify), timed(lambda: _hash(path))
    trail.close()


def _like(trail: SqliteTrail, word: str) -> int:
    columns = [row[1] for row in trail.connection.execute("PRAGMA table_info(job_words)")]
    where = " OR ".join(f'"{name}" LIKE ?' for name in columns)
    query = f"SELECT rowid FROM job_words WHERE {where} LIMIT 50"
    return len(trail.connection.execute(query, [f"%{word}%"] * len(columns)).fetchall())


def _find(_folder: Path) -> Iterator[tuple[float, float]]:
    trail = record(_of_many_jobs())
    for word in ("S4711", "S977", "2001-0042", "S1234"):
        yield timed(lambda w=word: trail.find(w)), timed(lambda w=word: _like(trail, w))
    trail.close()


ROWS = [
    Row("append an event, on disk", "fdatasync of as many bytes", "at least", 0.85, _append),
    Row(f"read back and fold {JOBS * EVENTS_EACH:,} events", "reading their rows", "at most", 7.0, _fold),
    Row(f"verify {JOBS * EVENTS_EACH:,} events", "reading the rows and SHA-256", "at least", 0.4, _verify),
    Row(f"find a word among {10 * JOBS:,} jobs", "a plain LIKE scan", "at most", 1.0, _find),
]

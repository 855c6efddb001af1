"""How fast a bench catches up beside a bare COPY of the same rows, and how soon others see what was committed."""

from __future__ import annotations

import statistics
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest
from postgres_server import running_server, why_not
from trail_pieces import draft, opening, record, run, weight

from bench.sharing.background_share import BackgroundShare
from bench.sharing.shipping import Shipper
from bench.sharing.writer_token import WriterToken
from bench.trail import events as e
from bench.trail.postgres_opening import connect_shared
from bench.trail.postgres_store import copy_in

pytestmark = [pytest.mark.long, pytest.mark.timeout(3600)]
EVENTS = 30_000


def fill(path: Path, events: int) -> None:
    with closing(record(path)) as trail:
        for job in range(events // 100):
            number = f"2031-{job:04d}"
            trail.append(
                [opening(number), *(weight(job=number, place=1 + n % 2) for n in range(97)), run(1, 4.0, 2.0, job=number),
                 draft(e.NoteWritten(text="done"), job=number)]
            )  # fmt: skip


def bare_copy(address: str, path: Path) -> float:
    """The same rows into the same table with the same guards, ready in memory, by COPY and nothing else. [s]"""
    with closing(record(path, read_only=True)) as local, closing(connect_shared(address)) as connection:
        rows = list(local.rows())
        connection.execute("INSERT INTO spinledger.benches (bench) VALUES ('south') ON CONFLICT DO NOTHING")
        began = time.perf_counter()
        for start in range(0, len(rows), 10_000):
            with connection.transaction():
                copy_in(connection, "south", rows[start : start + 10_000])
        return time.perf_counter() - began


def shipped(address: str, path: Path) -> tuple[float, float]:
    """Events, and then the rows of the list of jobs. [s]"""
    with closing(record(path, read_only=True)) as local, closing(connect_shared(address)) as connection:
        shipper = Shipper(local, connection, "shared", WriterToken("one", "here"))
        began = time.perf_counter()
        while shipper.ship():
            pass
        events_s = time.perf_counter() - began
        while shipper.settle():
            pass
        return events_s, time.perf_counter() - began


def empty(address: str) -> None:
    with closing(connect_shared(address)) as connection:
        connection.execute("SET session_replication_role = replica")
        connection.execute(
            "TRUNCATE spinledger.trail, spinledger.writers, spinledger.benches, spinledger.job_lines, spinledger.jobs_due"
        )


def test_shipping_beside_a_bare_copy(tmp_path: Path) -> None:
    if why_not():
        pytest.skip(why_not())
    fill(tmp_path / "south.db", EVENTS)
    ratios, with_lines = [], []
    with running_server(durable=True) as server:
        connect_shared(server.address(), make=True).close()
        for _ in range(5):
            bare_s = bare_copy(server.address(), tmp_path / "south.db")
            empty(server.address())
            events_s, all_s = shipped(server.address(), tmp_path / "south.db")
            empty(server.address())
            ratios.append(bare_s / events_s)
            with_lines.append(bare_s / all_s)
            print(f"\nbare COPY {EVENTS / bare_s:,.0f}/s, shipped {EVENTS / events_s:,.0f}/s, with the list of jobs "
                  f"{EVENTS / all_s:,.0f}/s")  # fmt: skip
    print(f"ratio: events {statistics.median(ratios):.2f}, with the list of jobs {statistics.median(with_lines):.2f}; "
          "wanted >= 0.5")  # fmt: skip
    assert statistics.median(ratios) >= 0.5


def test_how_soon_others_see_it(tmp_path: Path) -> None:
    if why_not():
        pytest.skip(why_not())
    late: list[float] = []
    with running_server(durable=True) as server:
        connect_shared(server.address(), make=True).close()
        south, north = record(tmp_path / "south.db"), record(tmp_path / "north.db", bench="north")
        shares = [
            BackgroundShare(
                lambda name=name: record(tmp_path / f"{name}.db", read_only=True, bench=name),  # type: ignore[misc]
                tmp_path / f"{name}-others.db",
                server.address(),
            )
            for name in ("south", "north")
        ]
        threads = [threading.Thread(target=share.run) for share in shares]
        for thread in threads:
            thread.start()
        from bench.sharing.others import OthersCopy

        south.append([opening()])
        time.sleep(2.0)
        with closing(OthersCopy(tmp_path / "north-others.db")) as copy:
            for n in range(300):
                south.append([weight(place=1 + n % 2)])
                began = time.perf_counter()
                length = south.checkpoint().length
                while copy.checkpoint("south").length < length:
                    time.sleep(0.001)
                    assert time.perf_counter() - began < 30
                late.append((time.perf_counter() - began) * 1000)
                time.sleep(0.02 + 0.0003 * (n % 100))
        for share, thread in zip(shares, threads, strict=True):
            share.end()
            thread.join()
        south.close()
        north.close()
    late.sort()
    print(f"\ncommit here to readable on the other bench: p50 {statistics.median(late):.0f} ms, "
          f"p99 {late[int(len(late) * 0.99)]:.0f} ms, slowest {late[-1]:.0f} ms of {len(late)}")  # fmt: skip

"""How fast a bench catches up beside a bare COPY of the same rows, and how soon others see what was committed."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest
from postgres_server import running_server, why_not
from trail_pieces import draft, opening, record, run, weight

from bench.sharing.others import OthersCopy
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


def sender(home: Path, address: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "bench.command_line.main", "share", "--to", address],
        env={**os.environ, "SPINLEDGER_HOME": str(home)}, stderr=subprocess.DEVNULL,
    )  # fmt: skip


def test_how_soon_others_see_it(tmp_path: Path) -> None:
    if why_not():
        pytest.skip(why_not())
    late: list[float] = []
    homes = {name: tmp_path / name for name in ("south", "north")}
    with running_server(durable=True) as server:
        connect_shared(server.address(), make=True).close()
        for name, home in homes.items():
            home.mkdir()
            record(home / "record.db", bench=name).close()
        senders = [sender(home, server.address()) for home in homes.values()]
        with closing(record(homes["south"] / "record.db")) as south:
            south.append([opening()])
            others = homes["north"] / "others.db"
            while not others.exists():
                time.sleep(0.1)
            time.sleep(3.0)
            with closing(OthersCopy(others)) as copy:
                for n in range(300):
                    (event,) = south.append([weight(place=1 + n % 2)])
                    began = time.perf_counter()
                    while copy.checkpoint("south").length < event.seq:
                        time.sleep(0.002)
                        assert time.perf_counter() - began < 30
                    late.append((time.perf_counter() - began) * 1000)
                    time.sleep(0.02 + 0.0003 * (n % 100))
        for process in senders:
            process.terminate()
            process.wait()
    late.sort()
    print(f"\ncommit here to readable on the other bench: p50 {statistics.median(late):.0f} ms, "
          f"p99 {late[int(len(late) * 0.99)]:.0f} ms, slowest {late[-1]:.0f} ms of {len(late)}")  # fmt: skip

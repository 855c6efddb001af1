"""Four benches that record while senders are killed, links cut, the database stopped and clocks stepped.

Afterwards the shared record holds exactly what each bench acked: all of it, nothing twice, in order, chains whole.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from cut_link import CutLink
from postgres_server import running_server, why_not

from bench.sharing.others import OthersCopy
from bench.trail.clock import SystemClock
from bench.trail.postgres_opening import connect_shared
from bench.trail.postgres_reading import SharedReader
from bench.trail.sqlite_store import open_record

pytestmark = [pytest.mark.long, pytest.mark.timeout(7200)]
BENCHES = ("north", "south", "east", "west")
EVENTS = int(os.environ.get("SPINLEDGER_FAULT_EVENTS", "50000"))
HERE = Path(__file__).parent


def sender(home: Path, address: str) -> subprocess.Popen[bytes]:
    with (home / "sender.log").open("ab") as log:
        return subprocess.Popen(
            [sys.executable, "-m", "bench.command_line.main", "share", "--to", address],
            env={**os.environ, "SPINLEDGER_HOME": str(home)}, stdout=log, stderr=log,
        )  # fmt: skip


@pytest.fixture
def folder() -> Iterator[Path]:
    """Of its own: pytest tidies away older folders of its own while a long run goes on beside others."""
    with tempfile.TemporaryDirectory(prefix="spinledger-faults-") as name:
        yield Path(name)


def test_union_equals_what_each_bench_acked(folder: Path) -> None:
    if why_not():
        pytest.skip(why_not())
    chance = random.Random(20310507)
    told = {"kills": 0, "silences": 0, "stops": 0}
    homes = {bench: folder / bench for bench in BENCHES}
    for home in homes.values():
        home.mkdir()
    with running_server(durable=True) as server:
        connect_shared(server.address(), make=True).close()
        link = CutLink(server.folder / ".s.PGSQL.5432")
        address = f"postgresql://postgres@127.0.0.1:{link.port}/postgres"
        benches = [
            subprocess.Popen([sys.executable, str(HERE / "bench_process.py"), str(home), bench, str(EVENTS), str(seed)])
            for seed, (bench, home) in enumerate(homes.items())
        ]
        while not all((home / "record.db").exists() for home in homes.values()):
            time.sleep(0.05)
        senders = {bench: sender(home, address) for bench, home in homes.items()}
        began = time.monotonic()
        while any(bench.poll() is None for bench in benches):
            assert not any(bench.poll() for bench in benches)
            time.sleep(chance.uniform(0.2, 1.5))
            fault = chance.random()
            if fault < 0.55:
                bench = chance.choice(BENCHES)
                senders[bench].send_signal(signal.SIGKILL)
                senders[bench].wait()
                told["kills"] += 1
                senders[bench] = sender(homes[bench], address)
            elif fault < 0.85:
                link.cut()
            elif fault < 0.93:
                link.silence(True)
                time.sleep(chance.uniform(0.2, 2.0))
                link.silence(False)
                told["silences"] += 1
            else:
                server.stop(chance.choice(["INT", "QUIT"]))
                time.sleep(chance.uniform(0.1, 2.0))
                server.start()
                told["stops"] += 1
        recorded_s = time.monotonic() - began
        lengths = dict.fromkeys(BENCHES, 0)
        while min(lengths.values()) < EVENTS and time.monotonic() - began < recorded_s + 1200:
            time.sleep(0.5)
            with closing(connect_shared(server.address())) as connection:
                lengths = {bench: SharedReader(connection, bench, "").checkpoint().length for bench in BENCHES}
        caught_up_s = time.monotonic() - began - recorded_s
        # the list of jobs follows its events, and what is fetched follows what was shipped
        due = 1
        while due and time.monotonic() - began < recorded_s + 1800:
            time.sleep(0.5)
            with closing(connect_shared(server.address())) as connection:
                ((due,),) = connection.execute("SELECT count(*) FROM spinledger.jobs_due").fetchall()
        for home in homes.values():
            with closing(OthersCopy(home / "others.db")) as copy:
                while time.monotonic() - began < recorded_s + 2400 and any(
                    copy.checkpoint(other).length < lengths[other] for other in BENCHES if homes[other] != home
                ):
                    time.sleep(0.5)
        fetched_s = time.monotonic() - began - recorded_s
        for process in senders.values():
            process.terminate()
            process.wait()
        steps = 0
        with closing(connect_shared(server.address())) as connection:
            for bench, home in homes.items():
                shared = SharedReader(connection, bench, "")
                with closing(open_record(home / "record.db", bench=bench, clock=SystemClock(), app_version="0")) as own:
                    assert list(shared.rows()) == list(own.rows())
                    steps += sum(row.kind == "clock-stepped" for row in own.rows())
                    assert shared.jobs() == own.jobs()
                assert shared.verify() is None
                there = {f"{row.seq} {row.id} {row.hash}" for row in shared.rows()}
                acked = (home / "acked").read_text().splitlines()
                assert set(acked) <= there
                assert len(acked) == len(set(acked))
            (whole,) = connection.execute("SELECT count(*), count(DISTINCT id) FROM spinledger.trail").fetchall()
            assert whole[0] == whole[1] == sum(lengths.values())
            for bench, home in homes.items():
                with closing(OthersCopy(home / "others.db")) as copy:
                    for other in set(BENCHES) - {bench}:
                        assert copy.checkpoint(other) == SharedReader(connection, other, "").checkpoint()
        link.close()
        print(f"\n{whole[0]:,} events of {len(BENCHES)} benches: 0 lost, 0 twice, chains whole. {told['kills']} senders killed, "
              f"{link.cuts} cuts, {told['silences']} silences, {told['stops']} stops of the database, {steps} clock steps; "
              f"recorded in {recorded_s:.0f} s, all shipped {caught_up_s:.0f} s later, fetched by all {fetched_s:.0f} s later")  # fmt: skip

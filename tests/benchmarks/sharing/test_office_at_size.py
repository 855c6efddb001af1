"""Ten million events of fifty benches in one shared record: what the office waits for.

Rows are made inside the database, in the size of a real weighing's event; their hashes are of their bytes but no
chain ties them, which searching and adding up do not ask for.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Iterator
from contextlib import closing

import pytest
from postgres_server import running_server, why_not
from trail_pieces import SetClock, opening, weight

from bench.sharing.office import Office, looking
from bench.trail.memory import MemoryTrail
from bench.trail.postgres_opening import connect_shared

pytestmark = [pytest.mark.long, pytest.mark.timeout(7200)]

BENCHES, EVENTS_A_BENCH, EVENTS_A_JOB = 50, int(os.environ.get("SPINLEDGER_BENCH_EVENTS", "200000")), 100
JOBS_A_BENCH = EVENTS_A_BENCH // EVENTS_A_JOB

_TRAIL = """
INSERT INTO spinledger.trail (bench, seq, id, job, kind, body, hash)
SELECT %(bench)s, n, %(bench)s || lpad(n::text, 28, '0'), %(bench)s || '-' || (n - 1) / %(a_job)s,
       CASE (n - 1) %% %(a_job)s WHEN 0 THEN 'job-opened' WHEN 70 THEN 'scale-checked' WHEN 80 THEN 'spin-run'
            WHEN 99 THEN 'job-signed-off' ELSE 'weight-taken' END,
       body, encode(sha256(body), 'hex')
FROM (SELECT n, convert_to(%(text)s || n || md5(n::text || %(bench)s), 'UTF8') AS body
      FROM generate_series(1, %(events)s) AS n) AS made
"""
_LINES = """
INSERT INTO spinledger.job_lines
SELECT %(bench)s, %(bench)s || '-' || n, title, customer, 'inline six, 3.0 litre',
       to_char(at, 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'), to_char(at + interval '5 h', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"'),
       CASE WHEN n %% 9 = 0 THEN 'spin' ELSE 'done' END, false, (n + 1) * %(a_job)s,
       format('%%L:1 %%L:2 %%L:4 %%L:5 %%L:7 ''inline'':8 ''six'':9 ''serial%%s'':11 ''rod'':13 ''piston'':14',
              %(bench)s, n::text, split_part(title, ' ', 1), split_part(title, ' ', 2), customer, n)::tsvector,
       60 * (90 + n %% 120), 3 + n %% 7, 2 + n %% 5, 6, (n %% 11 = 0)::int, 2, (n %% 97 = 0)::int, n %% 9 <> 0, n %% 9 <> 0
FROM (SELECT n, timestamp '2026-01-05 08:00' + n * interval '1826 d' / %(jobs)s AS at,
             (ARRAY['ferry', 'tug', 'pump', 'winch', 'trawler', 'launch'])[1 + n %% 6] || ' '
             || (ARRAY['heron', 'skua', 'gannet', 'plover', 'tern'])[1 + n %% 5] AS title,
             'yard' || n %% 400 AS customer
      FROM generate_series(0, %(jobs)s - 1) AS n) AS made
"""


@pytest.fixture(scope="module")
def office() -> Iterator[Office]:
    if why_not():
        pytest.skip(why_not())
    trail = MemoryTrail(bench="south", clock=SetClock())
    trail.append([opening(), weight()])
    text = trail._rows[1].body.decode()
    options = ("-c", "max_wal_size=8GB", "-c", "wal_level=minimal", "-c", "max_wal_senders=0", "-c", "shared_buffers=1GB",
               "-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "maintenance_work_mem=512MB")  # fmt: skip
    with running_server(durable=True, options=options) as server:
        with closing(connect_shared(server.address(), make=True)) as connection:
            began = time.monotonic()
            # filled without guards, log and indexes, which come back before anything is measured
            connection.execute("SET session_replication_role = replica")
            connection.execute(
                "ALTER TABLE spinledger.trail DROP CONSTRAINT trail_pkey, DROP CONSTRAINT trail_bench_id_key"
            )
            connection.execute("DROP INDEX spinledger.trail_by_job")
            connection.execute("ALTER TABLE spinledger.trail SET UNLOGGED")
            for number in range(BENCHES):
                bench = f"b{number:02d}"
                values = {
                    "bench": bench,
                    "events": EVENTS_A_BENCH,
                    "a_job": EVENTS_A_JOB,
                    "jobs": JOBS_A_BENCH,
                    "text": text,
                }
                connection.execute("INSERT INTO spinledger.benches (bench) VALUES (%s)", (bench,))
                connection.execute(_TRAIL, values)
                connection.execute(_LINES, values)
            connection.execute("ALTER TABLE spinledger.trail ADD PRIMARY KEY (bench, seq), ADD UNIQUE (bench, id)")
            connection.execute("CREATE INDEX trail_by_job ON spinledger.trail (bench, job, seq)")
            connection.execute("VACUUM ANALYZE")
            print(f"\nmade {BENCHES * EVENTS_A_BENCH:,} events in {time.monotonic() - began:.0f} s")
            for name in ("trail", "job_lines"):
                row = connection.execute(
                    "SELECT pg_relation_size(%(t)s::regclass), pg_indexes_size(%(t)s::regclass)",
                    {"t": f"spinledger.{name}"},
                ).fetchone()
                assert row is not None
                each = BENCHES * (EVENTS_A_BENCH if name == "trail" else JOBS_A_BENCH)
                print(f"{name}: {row[0] / each:.0f} bytes a row, {row[1] / each:.0f} of indexes; "
                      f"{(row[0] + row[1]) / 1e9:.2f} GB in all")  # fmt: skip
        with looking(server.address()) as one:
            yield one


def timed(act: object, times: int = 9) -> tuple[float, float, float]:
    """First, median and slowest. [ms]"""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        act()  # type: ignore[operator]
        took.append((time.perf_counter() - began) * 1000.0)
    return took[0], statistics.median(took), max(took)


@pytest.mark.parametrize(
    "words", ["heron", "tug heron", "yard17", "b07-1234", "her", "serial1999 ferry", "piston", "nothingatall"]
)
def test_searching(office: Office, words: str) -> None:
    found = len(office.find(words))
    first, middle, slowest = timed(lambda: office.find(words))
    print(
        f"\nfind '{words}' ({found} shown): first {first:.0f}, median {middle:.0f}, slowest {slowest:.0f} ms; wanted < 300"
    )
    assert middle < 300


def test_one_job(office: Office) -> None:
    rows = list(office.chain("b21").rows(job="b21-1000"))
    assert len(rows) == EVENTS_A_JOB
    first, middle, slowest = timed(lambda: list(office.chain("b21").rows(job="b21-1000")))
    print(f"\none job's {len(rows)} rows: first {first:.1f}, median {middle:.1f}, slowest {slowest:.1f} ms")


def test_numbers(office: Office) -> None:
    for since, until in (("2028-05", "2028-05"), ("", "9999")):
        told = office.numbers(since=since, until=until)
        first, middle, slowest = timed(lambda s=since, u=until: office.numbers(since=s, until=u))
        jobs = sum(one.jobs for one in told)
        print(f"\nnumbers of {jobs} jobs in {len(told)} rows: first {first:.0f}, median {middle:.0f}, slowest {slowest:.0f} ms; "
              "wanted < 2000")  # fmt: skip
        assert middle < 2000

"""A record with its chain, filled without waiting for the drive: `python filled_record.py FILE JOBS EVENTS_EACH`."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "trail"))

from trail_pieces import draft, ids, opening, record, run, weight

from bench.trail.codec import canonical, digest, seal
from bench.trail.events import Draft, JobOpened, NoteWritten
from bench.trail.projections import Projections
from bench.trail.sqlite_store import SqliteTrail

# what an event of this bench looks like when it is stored; the first job proves that it is the codec's own form
FORM = (
    b'{"app_version":"0.1.0","bench":"south","by":"AB","how":"auto","id":"%b","job":"%b","monotonic_ns":"%d",'
    b'"offset_min":60,"payload":%b,"previous_hash":"%b","raw":%b,"seq":%d,"utc":"%b"}'
)
STAMP = {"bench": "south", "offset_min": 60, "app_version": "0.1.0"}


@cache
def shape_of(name: str, first: int, second: int) -> tuple[str, bytes, bytes]:
    """Kind, payload and raw lines of a draft that many jobs share."""
    if name == "note":
        one = draft(NoteWritten(text=f"note {first} of bore {second}"))
    elif name == "run":
        one = run(1, 0.5, 0.4)
    else:
        one = weight(f"{400 + first // 10}.{first % 10}", place=second)
    return shape(one)


def shape(one: Draft) -> tuple[str, bytes, bytes]:
    body = one.model_dump(mode="json")
    return one.payload.kind, canonical(body["payload"]), canonical({"raw": body["raw"]})[7:-1]


def shapes(job: int, number: str, events_each: int) -> Iterator[tuple[str, bytes, bytes]]:
    """One job: opened, a note, weights, a run."""
    spec = opening(number, title=f"engine {job % 977}", customer=f"yard {job % 331}", serial=f"S{job}").payload
    assert isinstance(spec, JobOpened)
    yield shape(draft(spec, job=number))
    yield shape_of("note", job % 89, job % 53)
    for n in range(events_each - 3):
        yield shape_of("weight", n % 30 * 10 + n % 10, 1 + n % 2)
    yield shape_of("run", 0, 0)


def filled(path: Path, *, jobs: int, events_each: int) -> SqliteTrail:
    """Return an open record of so many jobs with so many events each."""
    trail = record(path)
    connection = trail.connection
    connection.execute("PRAGMA synchronous = OFF")
    seq, previous = 0, "0" * 64
    for job in range(jobs):
        number = f"{2000 + job // 3000}-{job % 3000:04d}"
        rows = []
        for kind, payload, raw in shapes(job, number, events_each):
            seq += 1
            event_id = f"{ids.prefix}-{10**9 + seq:012x}"
            utc = f"2031-05-07T08:00:00.{seq % 1_000_000:06d}Z"
            body = FORM % (
                event_id.encode(), number.encode(), seq, payload, previous.encode(), raw, seq, utc.encode(),
            )  # fmt: skip
            if job == 0:
                proved(body, previous)
            previous = digest(body)
            rows.append((seq, event_id, number, kind, body, previous))
        if job % 1000 == 0:
            connection.execute("BEGIN IMMEDIATE")
        connection.executemany("INSERT INTO trail VALUES (?, ?, ?, ?, ?, ?)", rows)
        if job % 1000 == 999 or job == jobs - 1:
            connection.execute("COMMIT")
    Projections(connection, str(path)).rebuild(trail.database)
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.execute("PRAGMA synchronous = FULL")
    return trail


def proved(body: bytes, previous: str) -> None:
    """The codec, given the same draft and stamp, stores the same bytes."""
    from bench.trail.codec import unseal

    event = unseal(body)
    own = Draft.model_validate({name: getattr(event, name) for name in Draft.model_fields})
    stamp = STAMP | {"seq": event.seq, "utc": event.utc, "monotonic_ns": event.monotonic_ns, "previous_hash": previous}
    assert seal(own, stamp)[1] == body


if __name__ == "__main__":
    began = time.perf_counter()
    made = filled(Path(sys.argv[1]), jobs=int(sys.argv[2]), events_each=int(sys.argv[3]))
    print(f"{made.checkpoint().length} events, {made.path.stat().st_size / 1e6:.0f} MB, "
          f"{time.perf_counter() - began:.0f} s")  # fmt: skip
    made.close()

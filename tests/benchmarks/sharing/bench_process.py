"""One bench of the fault run: records jobs as fast as it can, with a clock that steps, and tells what was acked."""

from __future__ import annotations

import os
import random
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "trail"))

import trail_pieces as pieces

from bench.trail import events as e
from bench.trail.identifiers import new_id
from bench.trail.sqlite_store import open_record

pieces.ids = new_id  # type: ignore[assignment]


class SteppingClock:
    """Steps now and then, by seconds or by years."""

    def __init__(self, seed: int) -> None:
        self._chance = random.Random(seed)
        self._shift = timedelta(0)

    def utc_now(self) -> datetime:
        return datetime.now(UTC) + self._shift

    def offset_min(self) -> int:
        return 60

    def monotonic_ns(self) -> int:
        return time.monotonic_ns()

    def maybe_step(self) -> None:
        if self._chance.random() < 0.002:
            self._shift = timedelta(seconds=self._chance.choice([-1, 1]) * self._chance.expovariate(1 / 288))
        elif self._chance.random() < 0.0003:
            self._shift = timedelta(days=self._chance.choice([-3650, 3650]))


def main() -> None:
    home, bench, count, seed = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]), int(sys.argv[4])
    chance, clock = random.Random(seed + 1), SteppingClock(seed)
    trail = open_record(home / "record.db", bench=bench, clock=clock, app_version="0.1.0")
    made = trail.checkpoint().length
    with (home / "acked").open("a") as acked:
        job = 0
        while made < count:
            job += 1
            number = f"{bench}-{job:05d}"
            drafts = [pieces.opening(number), *(pieces.weight(job=number, place=1 + n % 2) for n in range(97))]
            drafts += [pieces.run(1, 4.0, 2.0, job=number), pieces.draft(e.NoteWritten(text="done"), job=number)]
            while drafts and made < count:
                some = chance.randint(1, 12)
                clock.maybe_step()
                events = trail.append(drafts[:some])
                del drafts[:some]
                made = events[-1].seq
                acked.write("".join(f"{event.seq} {event.id} {event.hash}\n" for event in events))
        acked.flush()
        os.fsync(acked.fileno())
    trail.close()


main()

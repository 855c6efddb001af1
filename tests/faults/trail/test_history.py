"""Random commands and faults against a plain list: what was acknowledged is there, in order, and nothing else."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest
from failing_drive import FailingDrive, drive_in_between
from fault_pieces import small_steps
from trail_pieces import SetClock, draft, opening, record, weight

from bench.trail.backup import back_up
from bench.trail.checkpoints import against
from bench.trail.contract import Checkpoint
from bench.trail.errors import RecordError
from bench.trail.events import ClockStepped, Draft, NoteWritten
from bench.trail.full_check import check_all
from bench.trail.sqlite_store import SqliteTrail
from bench.trail.text_copy import extend_text_copy, lost_since

pytestmark = pytest.mark.usefixtures("needs_drive")


@dataclass
class History:
    """A record, the list it should be, and what was in doubt when a fault came."""

    folder: Path
    dice: random.Random
    drive: FailingDrive
    clock: SetClock = field(default_factory=SetClock)
    acked: list[str] = field(default_factory=list)
    doubt: list[str] = field(default_factory=list)
    points: list[Checkpoint] = field(default_factory=list)
    done: Counter[str] = field(default_factory=Counter)
    trail: SqliteTrail | None = None
    jobs: int = 0

    @property
    def path(self) -> Path:
        return self.folder / "r.db"

    def open(self) -> None:
        self.drive.heal()
        self.trail = record(self.path, self.clock)
        small_steps(self.trail, self.dice.choice([4, 30, 1000]))
        self.settle()

    def settle(self) -> None:
        """What was in doubt has come or not: from here on the list says so."""
        there = self.ids()
        assert there[: len(self.acked)] == self.acked, "an acknowledged entry is gone, or the order changed"
        rest = there[len(self.acked) :]
        assert rest in ([], self.doubt), "something came out of nowhere"
        self.acked, self.doubt = there, []

    def ids(self) -> list[str]:
        assert self.trail is not None
        found = self.trail.connection.execute("SELECT id FROM trail WHERE kind <> 'clock-stepped' ORDER BY seq")
        return [str(row[0]) for row in found.fetchall()]

    def some_drafts(self) -> list[Draft]:
        if self.jobs == 0 or self.dice.random() < 0.05:
            self.jobs += 1
            return [opening(f"2031-{self.jobs:04d}")]
        job = f"2031-{self.dice.randint(1, self.jobs):04d}"
        return [
            weight(place=1 + n % 2, job=job)
            if self.dice.random() < 0.8
            else draft(NoteWritten(text="n" * 500), job=job)
            for n in range(self.dice.choice([1, 1, 1, 2, 7]))
        ]

    def append(self, drafts: list[Draft]) -> None:
        assert self.trail is not None
        new = [one.id for one in drafts if one.id not in self.acked]
        try:
            events = self.trail.append(drafts)
        except RecordError as fault:
            self.done[f"fault: {type(fault).__name__}"] += 1
            if not self.trail.read_only:
                # refused and rolled back: it must not be there, and the same drafts may be given again
                assert self.ids() == self.acked
                self.drive.heal()
                self.append(drafts)
                return
            self.doubt = new
            self.reopen()
            if set(new) <= set(self.acked):
                self.done["came through all the same"] += 1
            self.append(drafts)  # a retry never doubles
            return
        assert [event.id for event in events] == [one.id for one in drafts]
        self.acked += new

    def reopen(self) -> None:
        assert self.trail is not None
        self.trail.close()
        self.open()

    def command(self) -> None:
        assert self.trail is not None
        what = self.dice.choices(
            [
                "append",
                "again",
                "fault once",
                "fault for ever",
                "full",
                "reopen",
                "clock",
                "check",
                "backup",
                "copy",
                "point",
            ],
            [60, 5, 6, 4, 4, 3, 6, 1, 0.5, 1, 3],
        )[0]
        self.done[what] += 1
        match what:
            case "append":
                self.append(self.some_drafts())
            case "again":
                known = {event.id: event for event in self.trail.events(after=max(len(self.acked) - 8, 0))}
                old = [Draft.model_validate(e.model_dump(include=set(Draft.model_fields))) for e in known.values()]
                self.append([*(one for one in old if not isinstance(one.payload, ClockStepped)), *self.some_drafts()])
            case "fault once" | "fault for ever" | "full":
                self.drive.fail_from = self.drive.calls + self.dice.randint(1, 25)
                self.drive.fail_for_ever, self.drive.full = what != "fault once", what == "full"
                for _ in range(3):
                    self.append(self.some_drafts())
                self.drive.heal()
            case "reopen":
                self.reopen()
            case "clock":
                self.clock.run(self.dice.uniform(0, 100))
                self.clock.step(self.dice.choice([0.0, 1.0, -5.0, 5.0, 86_400.0, -86_400.0]))
            case "check":
                assert check_all(self.trail) == []
                assert all(against(self.trail, point) is None for point in self.points[-5:])
            case "backup":
                outcome = back_up(self.trail, self.folder, now=datetime(2031, 5, 7, tzinfo=UTC))
                assert outcome.fault == ""
                assert outcome.checkpoint == self.trail.checkpoint()
            case "copy":
                extend_text_copy(self.trail, self.folder / "copy.jsonl")
                assert lost_since(self.trail, self.folder / "copy.jsonl") == []
            case _:
                self.points.append(self.trail.checkpoint())
                assert self.ids() == self.acked


def play(folder: Path, *, commands: int, seed: int) -> Counter[str]:
    done: Counter[str] = Counter()
    with drive_in_between(FailingDrive()) as drive:
        left, part = commands, 0
        while left > 0:
            # a record of its own every 150 commands, so that looking at all of it stays quick
            part += 1
            home = folder / f"{part}"
            home.mkdir()
            history = History(home, random.Random(f"{seed} {part}"), drive)
            history.open()
            for _ in range(min(left, 150)):
                history.command()
            history.reopen()
            assert history.trail is not None
            assert check_all(history.trail) == []
            assert all(against(history.trail, point) is None for point in history.points)
            history.trail.close()
            done += history.done
            left -= 150
    return done


def test_a_short_history(tmp_path: Path) -> None:
    done = play(tmp_path, commands=900, seed=1)
    assert done["fault: RecordDeviceError"] > 5
    assert done["fault: RecordFullError"] > 5


@pytest.mark.long
@pytest.mark.timeout(3600)
def test_a_hundred_thousand_commands(tmp_path: Path) -> None:
    done = play(tmp_path, commands=100_000, seed=2)
    print(f"history: {dict(done)}")

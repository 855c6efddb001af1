"""The power goes: of what was not yet synced, any sector may have reached the drive, whole, torn or not at all."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from failing_drive import FailingDrive, Op, drive_in_between
from fault_pieces import entries, ready, small_steps
from trail_pieces import SetClock, record

from bench.trail.full_check import check_all

pytestmark = pytest.mark.usefixtures("needs_drive")


@dataclass
class Story:
    """What a run of appends did to the files, call by call."""

    start: dict[str, bytes]
    ops: list[Op]
    acked: list[str] = field(default_factory=list)


def tell_story(folder: Path, count: int) -> Story:
    path = ready(folder)
    start = {path.name: path.read_bytes()}
    drive = FailingDrive(log=[])
    with drive_in_between(drive):
        trail = record(path)
        small_steps(trail, 30)
        acked = []
        for one in entries(count):
            trail.append([one])
            acked.append(one.id)
            drive.mark("acked")
        trail.close()
    assert drive.log is not None
    return Story(start, drive.log, acked)


def sectors(op: Op, size: int) -> list[tuple[int, bytes]]:
    """A write cut where the drive's sectors end."""
    pieces, at, data = [], op.at, op.data
    while data:
        room = size - at % size
        pieces.append((at, data[:room]))
        at, data = at + room, data[room:]
    return pieces


def put(content: bytearray, at: int, data: bytes) -> None:
    if len(content) < at:
        content.extend(bytes(at - len(content)))
    content[at : at + len(data)] = data


def after_the_cut(story: Story, upto: int, dice: random.Random, sector: int) -> tuple[dict[str, bytes], int]:
    """Return the files as they may lie there, and how many entries were acked by then."""
    durable = {name: bytearray(data) for name, data in story.start.items()}
    pending: dict[str, list[Op]] = {}
    acked = 0
    for op in story.ops[:upto]:
        if op.kind == "mark":
            acked += 1
        elif op.kind == "sync":
            for one in pending.pop(op.name, []):
                _apply_whole(durable, one)
        elif op.kind == "delete":
            # deleted names may come back: kept at random
            pending.pop(op.name, None)
            if dice.random() < 0.5:
                durable.pop(op.name, None)
        else:
            pending.setdefault(op.name, []).append(op)
    share = dice.choice([0.0, 0.3, 0.5, 0.9, 1.0])
    for name, ops in pending.items():
        content = durable.setdefault(name, bytearray())
        for op in ops:
            if op.kind == "truncate":
                if dice.random() < share:
                    del content[op.at :]
                continue
            for at, data in sectors(op, sector):
                if dice.random() < share:
                    torn = dice.random() < 0.1
                    put(content, at, data[: dice.randrange(len(data))] if torn else data)
    return {name: bytes(data) for name, data in durable.items()}, acked


def _apply_whole(durable: dict[str, bytearray], op: Op) -> None:
    content = durable.setdefault(op.name, bytearray())
    if op.kind == "truncate":
        del content[op.at :]
    else:
        put(content, op.at, op.data)


def cuts(tmp_path: Path, number: int, seed: int) -> dict[str, int]:
    story = tell_story(tmp_path / "story", 24) if (tmp_path / "story").mkdir() is None else None
    assert story is not None
    assert sum(op.kind == "sync" and op.name == "r.db" for op in story.ops) >= 2, "no checkpoint among what is cut"
    dice = random.Random(seed)
    seen = {"k": 0, "k+1": 0}
    for n in range(number):
        upto = dice.randrange(len(story.ops) + 1)
        files, acked = after_the_cut(story, upto, dice, dice.choice([512, 4096]))
        folder = tmp_path / "cut"
        folder.mkdir(exist_ok=True)
        for old in folder.iterdir():
            old.unlink()
        for name, data in files.items():
            (folder / name).write_bytes(data)
        trail = record(folder / "r.db", SetClock())
        ids = [event.id for event in trail.events()][4:]
        wrong = check_all(trail)
        trail.close()
        assert wrong == [], (seed, n, upto)
        assert ids in (story.acked[:acked], story.acked[: acked + 1]), (seed, n, upto)
        seen["k" if len(ids) == acked else "k+1"] += 1
    return seen


def test_power_cuts(tmp_path: Path) -> None:
    seen = cuts(tmp_path, 250, seed=20310507)
    assert seen["k"] > 20
    assert seen["k+1"] > 3


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_ten_thousand_power_cuts(tmp_path: Path) -> None:
    seen = cuts(tmp_path, 10_000, seed=7)
    print(f"power cuts: {seen}")
    assert seen["k"] + seen["k+1"] == 10_000


def test_the_simulator_sees_a_store_that_does_not_sync(tmp_path: Path) -> None:
    # the test itself is tested: with synchronous = OFF an acked entry must be lost in some cut
    path = ready(tmp_path)
    start = {path.name: path.read_bytes()}
    drive = FailingDrive(log=[])
    with drive_in_between(drive):
        trail = record(path)
        trail.connection.execute("PRAGMA synchronous = OFF")
        acked = []
        for one in entries(6):
            trail.append([one])
            acked.append(one.id)
            drive.mark("acked")
        at_last_ack = len(drive.log or [])
        trail.close()
    story = Story(start, drive.log or [], acked)
    dice = random.Random(1)
    lost = 0
    for n in range(20):
        files, so_far = after_the_cut(story, at_last_ack, dice, 512)
        folder = tmp_path / f"cut{n}"
        folder.mkdir()
        for name, data in files.items():
            (folder / name).write_bytes(data)
        trail = record(folder / "r.db", SetClock())
        lost += len(list(trail.events())[4:]) < so_far
        trail.close()
    assert lost > 5

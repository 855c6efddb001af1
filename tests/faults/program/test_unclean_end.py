"""The power fails or the program is killed: the next start says so first, with what was read last, until it is seen."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, read_trail, scribe_for
from bench.command_line.settings import Settings
from bench.command_line.wiring import RunningBench, start_bench
from bench.models.job import Cell
from bench.trail.at_work import AtWork
from bench.trail.keeping_events import UncleanEndSeen
from bench.use_cases import commands as c
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job
from bench.use_cases.take_weight import type_weight

SETTINGS = Settings(by="mk")
NUMBER = "2031-0001"


@pytest.fixture
def places(tmp_path: Path) -> Places:
    places = Places(tmp_path / "home")
    trail = open_trail(places, SETTINGS)
    scribe = scribe_for(trail, SETTINGS)
    open_job(scribe, demo_spec(), year=2031)
    for place in range(1, 6):
        type_weight(scribe, cell=Cell(kind="piston", place=place), grams=Decimal("603.0") + place, reason="a test")
    trail.close()
    return places


def seen_events(places: Places) -> list[UncleanEndSeen]:
    trail = read_trail(places, SETTINGS)
    assert trail is not None
    try:
        return [event.payload for event in trail.events() if isinstance(event.payload, UncleanEndSeen)]
    finally:
        trail.close()


def started(places: Places) -> tuple[RunningBench, list[str]]:
    running = start_bench(places, SETTINGS)
    said: list[str] = []
    running.desk.hear(lambda notice: said.append(notice.words))
    running.desk.ask(c.ChooseJob(NUMBER))
    until(lambda: running.desk.view().job)
    return running, said


def until(fine: Callable[[], object]) -> None:
    end = time.monotonic() + 10
    while not fine():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_after_a_clean_end_nothing_is_said(places: Places) -> None:
    for _ in range(3):
        running, said = started(places)
        assert running.desk.view().ended is None
        running.stop()
        assert "usual way" not in " ".join(said)
        assert not AtWork(places.record).path.exists()
    assert seen_events(places) == []


def test_after_an_unclean_end_the_last_three_are_said_first_and_a_key_records_it(places: Places) -> None:
    AtWork(places.record).begin()  # what a bench that was killed leaves
    running, said = started(places)
    end = running.desk.view().ended
    assert end is not None
    assert end.last_seq == 6
    assert len(end.readings) == 3
    for words, piston in zip(end.readings, ("piston 3", "piston 4", "piston 5"), strict=True):
        assert NUMBER in words
        assert piston in words
    text = "\n".join(said)
    assert "did not end the usual way" in said[0]
    assert "608.0" in text
    assert "lay the last part again if in doubt" in text
    running.desk.ask(c.SeeEnd())
    until(lambda: running.desk.view().ended is None)
    running.desk.ask(c.SeeEnd())
    running.stop()
    assert seen_events(places) == [UncleanEndSeen(last_seq=6, last_utc=end.last_utc, by_what="key")]
    running, said = started(places)
    running.stop()
    assert "usual way" not in " ".join(said)


def test_work_that_goes_on_has_seen_it_and_nothing_of_it_is_lost(places: Places) -> None:
    AtWork(places.record).begin()
    running, _ = started(places)
    running.desk.ask(c.TypeWeight(Cell(kind="piston", place=6), Decimal("604.1"), "a test"))
    until(lambda: running.desk.view().ended is None)
    running.stop()
    assert [one.by_what for one in seen_events(places)] == ["work"]
    trail = read_trail(places, SETTINGS)
    assert trail is not None
    kinds = [event.payload.kind for event in trail.events()]
    trail.close()
    assert kinds[-2:] == ["unclean-end-seen", "weight-taken"]


def test_it_is_said_again_until_somebody_has_seen_it(places: Places) -> None:
    AtWork(places.record).begin()
    for _ in range(2):
        running, said = started(places)
        running.stop()
        assert "did not end the usual way" in said[0]
    assert seen_events(places) == []


def test_one_who_only_looks_neither_says_it_nor_takes_the_mark_away(places: Places) -> None:
    first, _ = started(places)
    second = start_bench(places, SETTINGS)
    assert second.desk.view().read_only
    assert second.desk.view().ended is None
    second.stop()
    assert AtWork(places.record).path.exists()
    first.stop()
    assert not AtWork(places.record).path.exists()


def test_an_empty_record_has_nothing_to_compare(tmp_path: Path) -> None:
    places = Places(tmp_path)
    AtWork(places.record).begin()
    running = start_bench(places, SETTINGS)
    assert running.desk.view().ended is None
    running.stop()
    assert not AtWork(places.record).path.exists()


def test_a_folder_that_takes_no_mark_holds_nobody_up(places: Places, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", fails)
    assert AtWork(places.record).begin() is False


@pytest.mark.skipif(sys.platform == "win32", reason="signals as POSIX has them")
def test_a_real_kill_of_plain_lines(places: Places, tmp_path: Path) -> None:
    """The same by processes: killed, started again, quit without a look, started again, Enter, started again."""
    (tmp_path / "scale.txt").write_text("")
    environment = os.environ | {"SPINLEDGER_HOME": str(places.home), "SPINLEDGER_BY": "mk", "PYTHONUNBUFFERED": "1"}
    words = [sys.executable, "-m", "bench.command_line.main", "weigh", NUMBER, "--scale", "socket://127.0.0.1:9"]

    def run(*typed: str, kill: bool = False) -> list[str]:
        child = subprocess.Popen(
            words, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert child.stdin is not None
        assert child.stdout is not None
        lines: list[str] = []
        for line in child.stdout:
            lines.append(line.rstrip())
            if line.startswith("> "):
                break
        if kill:
            child.kill()
        else:
            child.stdin.write("".join(f"{one}\n" for one in typed))
            child.stdin.close()
        lines += [line.rstrip() for line in child.stdout]
        child.wait(timeout=30)
        child.stdout.close()
        if kill:
            child.stdin.close()
        return lines

    assert not any("usual way" in line for line in run(kill=True))
    told = run("quit")
    assert "did not end the usual way" in told[0]
    assert any("piston 5" in line and "608.0" in line for line in told[:8])
    assert "did not end the usual way" in run("", "note the parts agree", "quit")[0]
    assert not any("usual way" in line for line in run("quit"))
    assert [one.by_what for one in seen_events(places)] == ["key"]

"""Numbers that safety hangs on, at a command line: said back with units, odd ones refused until they are meant."""

from __future__ import annotations

import io
import json
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from calling import call

from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.settings import Settings
from bench.command_line.weigh_command import _doubt, wish
from bench.models.job import Cell
from bench.models.job_state import JobState
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job
from bench.use_cases.take_weight import type_weight
from bench.use_cases.typed_doubts import doubt_of_typed

NUMBER = "2031-0001"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
    monkeypatch.setenv("SPINLEDGER_BY", "mk")
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    return tmp_path


def job_file(home: Path, **changes: Any) -> str:
    spec = json.loads(demo_spec().model_dump_json())
    for key, value in changes.items():
        table, _, name = key.partition("__")
        if name:
            spec[table][name] = value
        else:
            spec[key] = value
    path = home / "job.json"
    path.write_text(json.dumps(spec | {"simulated": False}))
    return str(path)


def jobs(home: Path) -> list[JobState]:
    trail = open_trail(Places(home), Settings())
    try:
        scribe = scribe_for(trail, Settings())
        return [scribe.choose(line.number) for line in trail.jobs()]
    finally:
        trail.close()


def test_a_usual_job_is_opened_and_its_numbers_are_said_back(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("job", "new", "--from", job_file(home)) == 0
    told = capsys.readouterr()
    assert told.out.startswith("job 20")
    assert "limit of each plane, at the correction radius: " in told.err
    assert " g\n" in told.err
    assert "correction radius: " in told.err
    assert " mm\n" in told.err


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"tolerance__shop_limit_g": 1000.0}, "1000 g limit a plane"),
        ({"tolerance__shop_limit_g": 28.35}, "28.35 g limit a plane"),
        ({"tolerance__bobweight_g": 2.5}, "2.5 g band of a bobweight"),
        ({"oil_g": 50.0}, "50 g of oil a throw"),
        ({"reciprocating_share": 0.3}, "30 % of the reciprocating weight"),
        ({"speed_rpm": 65_000.0}, "65000 1/min"),
        ({"rotor_mass_kg": 2500.0}, "2500 kg"),
    ],
)
def test_a_slip_in_a_file_is_refused_with_its_reason_until_it_is_meant(
    home: Path, changes: dict[str, float], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    source = job_file(home, **changes)
    assert call("job", "new", "--from", source) == 2
    told = capsys.readouterr()
    assert words in told.err
    assert "--as-typed" in told.err
    assert told.out == ""
    assert jobs(home) == []
    assert call("job", "new", "--from", source, "--as-typed") == 0
    assert len(jobs(home)) == 1


def test_inches_where_millimetres_are_meant(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    planes = json.loads(demo_spec().model_dump_json())["planes"]
    source = job_file(home, planes=[{**plane, "radius_mm": 3.5} for plane in planes])
    assert call("job", "new", "--from", source) == 2
    assert "3.5 mm correction radius: usual is 25 to 300 mm" in capsys.readouterr().err


def test_a_slip_in_an_amendment_is_refused_and_an_old_one_is_not_asked_about_again(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("job", "new", "--from", job_file(home, oil_g=50.0), "--as-typed") == 0
    number = jobs(home)[0].number
    words = ("job", "amend", number, "--reason", "misread")
    capsys.readouterr()
    assert call(*words, "--shop-limit", "100") == 2
    assert "100 g limit a plane" in capsys.readouterr().err
    assert jobs(home)[0].spec.tolerance.shop_limit_g == demo_spec().tolerance.shop_limit_g
    assert call(*words, "--shop-limit", "2") == 0  # the oil was confirmed when the job was opened
    told = capsys.readouterr()
    assert "limit of each plane, at the correction radius: 2 g" in told.err
    assert call(*words, "--shop-limit", "100", "--as-typed") == 0
    assert jobs(home)[0].spec.tolerance.shop_limit_g == 100.0


@pytest.mark.parametrize(("answer", "code"), [("yes\n", 0), ("Y\n", 0), ("no\n", 2), ("\n", 2), ("", 2), ("1000\n", 2)])
def test_somebody_at_a_terminal_is_asked(
    home: Path, answer: str, code: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Terminal(answer))
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    assert call("job", "new", "--from", job_file(home, oil_g=50.0)) == code
    told = capsys.readouterr().err
    assert "? 50 g of oil a throw" in told
    assert "meant as it is typed" in told


def weighed(home: Path, *grams: str) -> JobState:
    trail = open_trail(Places(home), Settings())
    try:
        scribe = scribe_for(trail, Settings(by="mk"))
        open_job(scribe, demo_spec(), year=2031)
        for place, one in enumerate(grams, start=1):
            type_weight(scribe, cell=Cell(kind="piston", place=place), grams=Decimal(one), reason="a test")
        assert scribe.state is not None
        return scribe.state
    finally:
        trail.close()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("6037", "10 times"),
        ("60.37", "0.1 times"),
        ("0.6037", "0.001 times"),
        ("21.295", "0.035 times"),  # ounces
        ("1.331", "0.0022 times"),  # pounds
        ("630.7", "digits exchanged"),
        ("306.7", "digits exchanged"),
        ("188.5", "0.31 times"),  # a pin's weight
    ],
)
def test_a_typed_weight_that_does_not_fit_its_set_is_doubted(home: Path, typed: str, words: str) -> None:
    state = weighed(home, "603.7", "604.1", "603.2")
    told = doubt_of_typed(state, Cell(kind="piston", place=4), Decimal(typed))
    assert words in told
    assert "the others lie at 603.7 g" in told


@pytest.mark.parametrize("typed", ["603.7", "605.9", "600.0", "NaN", "-5", "0"])
def test_what_fits_or_is_refused_elsewhere_is_not_doubted(home: Path, typed: str) -> None:
    state = weighed(home, "603.7", "604.1", "603.2")
    assert doubt_of_typed(state, Cell(kind="piston", place=4), Decimal(typed)) == ""
    assert doubt_of_typed(state, Cell(kind="pin", place=4), Decimal(188)) == ""  # nothing to compare with
    assert doubt_of_typed(state, Cell(kind="nonsense", place=4), Decimal(188)) == ""


def test_plain_lines_ask_for_the_same_line_again(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import queue

    from bench.command_line import weigh_command
    from bench.use_cases.commands import TypeWeight
    from bench.use_cases.view import BenchView

    state = weighed(home, "603.7", "604.1", "603.2")

    class Desk:
        asked: list[object] = []  # noqa: RUF012 one test, one desk

        def view(self) -> BenchView:
            return BenchView(job=state)

        def ask(self, command: object) -> None:
            self.asked.append(command)

    class Running:
        desk = Desk()

    running: Any = Running()
    lines = (
        "type piston 4 6037 wet\n"  # doubted
        "type piston 4 6038 wet\n"  # another number is another doubt
        "skip\n"
        "type piston 4 6038 wet\n"  # not right after the doubt: asked again
        "type piston 4 6038 wet\n"  # the same again: meant
        "type piston 5 603.9 wet\n"  # fits
        "quit\n"
    )
    monkeypatch.setattr(sys, "stdin", io.StringIO(lines))
    weigh_command._read_wishes(running, queue.SimpleQueue(), str)
    taken = [one for one in running.desk.asked if isinstance(one, TypeWeight)]
    assert [(one.cell.place, one.grams) for one in taken] == [(4, Decimal(6038)), (5, Decimal("603.9"))]
    told = capsys.readouterr().err
    assert told.count("nothing was taken") == 3
    command = wish(["skip"])
    assert command is not None
    assert _doubt(running, command) == ""

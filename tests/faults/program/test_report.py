"""The report of the doctor: shown whole before it is written, without names, nothing in it that a terminal obeys."""

from __future__ import annotations

import io
import sys
import unicodedata
from pathlib import Path

import pytest

from bench.command_line import main as command_line
from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.say import explain
from bench.command_line.settings import Settings
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job

CUSTOMER = "Øre & Sons [tugs]"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / CUSTOMER / "home"))
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    places = Places(tmp_path / CUSTOMER / "home")
    trail = open_trail(places, Settings())
    spec = demo_spec().model_copy(update={"customer": CUSTOMER, "title": "Heron"})
    open_job(scribe_for(trail, Settings(by="mk")), spec, year=2031)
    trail.close()
    assert explain(KeyError(f"no such part of {CUSTOMER}\x1b]0;x\x07")) == 70
    return places.home


def call(*words: str) -> int:
    try:
        return int(command_line.run(["doctor", "--no-ports", *words]))
    except Exception as fault:  # noqa: BLE001 as main does
        return explain(fault)


def test_it_is_shown_and_not_written_when_nobody_can_agree(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("--report", str(tmp_path / "r.txt")) == 2
    told = capsys.readouterr()
    assert "last fault:" in told.out
    assert "KeyError" in told.out
    assert "nothing was written" in told.err
    assert not (tmp_path / "r.txt").exists()
    assert home.is_dir()


@pytest.mark.usefixtures("home")
@pytest.mark.parametrize("answer", ["yes\n", "no\n", ""])
def test_what_was_shown_is_what_is_written(
    answer: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Terminal(answer))
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    capsys.readouterr()
    path = tmp_path / "r.txt"
    assert call("--report", str(path)) == (0 if answer == "yes\n" else 2)
    shown = capsys.readouterr().out
    assert path.exists() == (answer == "yes\n")
    if path.exists():
        assert path.read_text(encoding="utf-8") == shown


@pytest.mark.usefixtures("home")
def test_it_names_nobody_and_nothing_in_it_acts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("LOGNAME", "rosalind")
    capsys.readouterr()
    assert call("--report", str(tmp_path / "r.txt"), "--as-shown") == 0
    text = (tmp_path / "r.txt").read_text(encoding="utf-8")
    assert CUSTOMER not in text
    assert "Heron" not in text
    assert str(tmp_path) not in text
    assert "[home]" in text
    assert "rosalind" not in text
    assert [one for one in text if unicodedata.category(one) in {"Cc", "Cf"} and one != "\n"] == []


def test_a_record_that_cannot_be_asked_leaves_only_ids(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "record.db").write_bytes(b"SQLite format 3\x00" + b"\x01" * 5000)
    capsys.readouterr()
    assert call("--report", str(tmp_path / "r.txt"), "--as-shown") == 0
    text = (tmp_path / "r.txt").read_text(encoding="utf-8")
    assert "told by its id only" in text
    assert CUSTOMER not in text


@pytest.mark.usefixtures("home")
def test_a_file_that_is_there_is_not_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "r.txt").write_text("mine")
    assert call("--report", str(tmp_path / "r.txt"), "--as-shown") == 4
    assert "Name another file" in capsys.readouterr().err
    assert (tmp_path / "r.txt").read_text() == "mine"

"""Who is stored with each entry: asked once at a terminal, kept, and said where nobody is named."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest
from calling import call

from bench.command_line.exit_codes import ExitCode
from bench.command_line.places import Places
from bench.command_line.record_wiring import read_trail
from bench.command_line.settings import Settings, read_settings
from bench.use_cases.demo_job import demo_spec


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    spec = demo_spec().model_copy(update={"simulated": False})
    (tmp_path / "job.json").write_text(spec.model_dump_json(), encoding="utf-8")
    return tmp_path / "home"


def typing(monkeypatch: pytest.MonkeyPatch, text: str) -> Terminal:
    said = Terminal()
    monkeypatch.setattr(sys, "stdin", Terminal(text))
    monkeypatch.setattr(sys, "stderr", said)
    return said


def whose(home: Path) -> list[str]:
    trail = read_trail(Places(home), Settings())
    assert trail is not None
    try:
        return [event.by for event in trail.events()]
    finally:
        trail.close()


def test_asked_once_kept_and_stored_with_each_entry(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    said = typing(monkeypatch, "m k\n")
    assert call("job", "new", "--from", str(home.parent / "job.json")) == 0
    assert "Who is at the bench? initials" in said.getvalue()
    number = next(iter(read_trail(Places(home), Settings()).events())).job  # type: ignore[union-attr]
    said = typing(monkeypatch, "")
    assert call("job", "note", number, "first") == 0
    assert said.getvalue() == "", "it was asked once"
    assert call("job", "note", number, "by another", "--by", "jo") == 0
    assert call("job", "note", number, "the first again") == 0
    assert whose(home) == ["mk", "mk", "jo", "mk"]


def test_a_key_of_the_names_and_what_is_none(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert call("settings", "--set", "names=mk, jo an") == 0
    said = typing(monkeypatch, "7\nfarmorethantwelve\n2\n")
    assert call("job", "new", "--from", str(home.parent / "job.json")) == 0
    assert "1 mk  2 jo  3 an, or initials" in said.getvalue()
    assert said.getvalue().count("is no name of the bar") == 2
    assert whose(home) == ["jo"]
    settings, _ = read_settings(Places(home).settings)
    assert (settings.by, settings.names) == ("jo", "mk, jo an")


def test_without_a_terminal_nobody_is_asked_and_it_is_said(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("job", "new", "--from", str(home.parent / "job.json")) == 0
    assert "names nobody: --by AB" in capsys.readouterr().err
    assert whose(home) == [""]


def test_nobody_is_an_answer_and_no_more_is_asked_of_a_closed_keyboard(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = typing(monkeypatch, "")
    assert call("job", "new", "--from", str(home.parent / "job.json")) == 0
    assert said.getvalue().count("Who is at the bench?") == 1
    assert whose(home) == [""]
    assert not Places(home).settings.exists()


def test_names_too_long_are_refused(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("settings", "--set", "names=mk far-too-long-for-initials") == ExitCode.USAGE
    assert "initials of up to 12 letters" in capsys.readouterr().err
    assert call("settings", "--json") == 0
    assert json.loads(capsys.readouterr().out)["values"]["names"]["value"] == ""

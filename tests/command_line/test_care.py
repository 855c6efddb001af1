"""Copies are made by themselves where settings say so, and the dashboard says when they are due."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bench.command_line import main as command_line
from bench.command_line.care_words import care_words
from bench.command_line.places import Places
from bench.command_line.power_watch import Power, PowerWatch, power_now
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.say import explain
from bench.command_line.settings import Settings
from bench.trail.backup import backups_in
from bench.trail.text_copy import end_of_text_copy
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job
from bench.use_cases.write_note import write_note


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return tmp_path / "home"


def call(*words: str) -> int:
    try:
        return int(command_line.run(list(words)))
    except Exception as fault:  # noqa: BLE001 as main does
        return explain(fault)


def settings_for(home: Path, **care: object) -> Settings:
    lines = [
        f'{name} = "{value}"' if isinstance(value, (str, Path)) else f"{name} = {value}" for name, value in care.items()
    ]
    (home / "settings.toml").write_text("[care]\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return Settings.model_validate({"care": {name: str(value) for name, value in care.items()}})


def with_job(home: Path, settings: Settings, notes: int = 3) -> None:
    trail = open_trail(Places(home), settings)
    scribe = scribe_for(trail, Settings(by="mk"))
    open_job(scribe, demo_spec(), year=2031)
    for n in range(notes):
        write_note(scribe, f"note {n}")
    trail.close()


def test_a_text_copy_grows_with_the_record_and_a_record_comes_back_from_it(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    copy = stick / "copy.jsonl"
    settings = settings_for(home, text_copy=copy)
    trail = open_trail(Places(home), settings)
    scribe = scribe_for(trail, Settings(by="mk"))
    open_job(scribe, demo_spec(), year=2031)
    until = time.monotonic() + 20
    while (not copy.exists() or end_of_text_copy(copy) < 1) and time.monotonic() < until:
        time.sleep(0.02)  # while the bench works, not only at its end
    assert end_of_text_copy(copy) == 1
    write_note(scribe, "at the end")
    trail.close()
    assert end_of_text_copy(copy) == 2
    assert call("job", "note", "2031-0001", "by a command") == 0
    assert end_of_text_copy(copy) == 3
    capsys.readouterr()
    assert call("verify") == 0
    head = capsys.readouterr().out.split()[-1]
    (home / "record.db").unlink()
    assert call("restore", str(copy)) == 0
    assert head in capsys.readouterr().out
    assert call("verify", "--full", "--against", str(copy)) == 0


def test_the_demo_never_writes_into_the_shops_copy(home: Path, tmp_path: Path) -> None:
    settings = settings_for(home, text_copy=tmp_path / "copy.jsonl")
    with_job(Places(home).demo.home, settings)
    assert not (tmp_path / "copy.jsonl").exists()


def test_a_medium_that_is_away_holds_up_nobody(home: Path, tmp_path: Path) -> None:
    settings = settings_for(home, text_copy=tmp_path / "gone" / "copy.jsonl")
    with_job(home, settings)
    words = care_words(Places(home), settings, simulated=False)
    assert "is not there" in words()


def test_what_a_drive_lost_is_said_with_its_last_entries(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    settings = settings_for(home, text_copy=tmp_path / "copy.jsonl")
    with_job(home, settings, notes=1)
    kept = (home / "record.db").read_bytes()
    trail = open_trail(Places(home), settings)
    scribe = scribe_for(trail, Settings(by="mk"))
    scribe.choose("2031-0001")
    for n in range(5):
        write_note(scribe, f"lost {n}")
    trail.close()
    (home / "record.db").write_bytes(kept)
    told = care_words(Places(home), settings, simulated=False)()
    assert "lost the newest 5 entries" in told
    assert all(f"lost {n}" in told for n in (2, 3, 4))
    assert "lost 1" not in told
    assert call("settings", "--set", f"care.text_copy={tmp_path / 'copy.jsonl'}") == 0
    assert call("restore", "--gap", str(tmp_path / "copy.jsonl"), "--by", "jo") == 0
    assert call("trail", "2031-0001", "--only", "corrections", "--json") == 0
    said = capsys.readouterr().out
    assert "the drive lost 5 entries, 3 to 7" in said
    assert '"by": "jo"' in said
    assert care_words(Places(home), settings, simulated=False)() == ""
    assert call("restore", "--gap", str(tmp_path / "copy.jsonl"), "--by", "jo") != 0


def test_a_backup_that_is_due(home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    settings = settings_for(home, backup_folder=stick, second_backup_folder=tmp_path / "away", backup_after_days=3)
    with_job(home, settings)
    now, ran = [datetime.now(UTC)], [0.0]
    words = care_words(Places(home), settings, simulated=False, now=lambda: now[0], clock=lambda: ran[0])
    assert words() == ""  # a new bench is not nagged
    now[0] += timedelta(days=4)
    assert words() == ""  # looked at now and then only
    ran[0] += 31.0
    assert words().startswith("there is no backup yet")
    assert call("backup") == 6  # one of two media is away, the other has its copy
    assert "no backup in" in capsys.readouterr().err
    assert len(backups_in(stick)) == 1
    now[0], ran[0] = datetime.now(UTC), ran[0] + 31.0
    assert words() == ""
    now[0], ran[0] = now[0] + timedelta(days=4), ran[0] + 31.0
    assert "4 days old" in words()
    assert care_words(Places(home), settings, simulated=True)() == ""


def test_a_backup_with_nowhere_to_go(home: Path) -> None:
    with_job(home, Settings())
    assert call("backup") == 4


def test_low_power_has_copies_made_once(home: Path, tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    settings = settings_for(home, backup_folder=stick, text_copy=stick / "copy.jsonl")
    with_job(home, settings)
    supply, ran = [Power()], [0.0]
    words = care_words(Places(home), settings, simulated=False, clock=lambda: ran[0], power=lambda: supply[0])
    assert words() == ""
    for percent in (9, 7, 5):
        supply[0], ran[0] = Power(on_mains=False, percent=percent), ran[0] + 31.0
        assert words() == f"the battery has {percent} % left: 2 of 2 copies made; plug the mains in"
        assert len(backups_in(stick)) == 1
    supply[0], ran[0] = Power(on_mains=True, percent=5), ran[0] + 31.0
    assert words() == ""


def test_what_the_system_tells_of_its_supply(tmp_path: Path) -> None:
    def supply(name: str, **words: str) -> None:
        (tmp_path / name).mkdir()
        for key, value in words.items():
            (tmp_path / name / key).write_text(value + "\n")

    assert power_now(tmp_path / "none") == Power()
    supply("AC", type="Mains", online="0")
    supply("mouse", type="Battery", scope="Device", capacity="1", status="Discharging")
    assert power_now(tmp_path) == Power()
    supply("BAT0", type="Battery", capacity="80", status="Full")
    supply("ups", type="UPS", capacity="8", status="Discharging")
    assert power_now(tmp_path) == Power(on_mains=False, percent=8)
    assert power_now(tmp_path).low
    watch = PowerWatch(lambda: "", look=lambda: Power(on_mains=False, percent=3))
    watch.glance()
    assert "3 %" in watch.words


def test_a_record_in_use_is_not_restored_over(home: Path, tmp_path: Path) -> None:
    with_job(home, Settings())
    stick = tmp_path / "stick"
    stick.mkdir()
    assert call("backup", str(stick)) == 0
    trail = open_trail(Places(home), Settings())
    assert call("restore", str(next(stick.iterdir()))) == 3
    trail.close()

"""Where a record lies decides whether it may be written; what cannot be written is looked at, with the right exit code."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from fault_pieces import ready
from trail_pieces import opening, record

from bench.command_line import main as command_line
from bench.command_line.say import explain
from bench.trail import sqlite_store, where_it_lies
from bench.trail.errors import RecordReadOnlyError
from bench.trail.where_it_lies import Lying, why_not_there

ROOT = "/dev/sda1 / ext4 rw 0 0\n"


@pytest.mark.parametrize("system", sorted(where_it_lies.NETWORK))
def test_every_kind_of_network_is_known(tmp_path: Path, system: str) -> None:
    home = tmp_path / "with space"
    home.mkdir()
    place = str(home.resolve()).replace(" ", "\\040")
    lying = where_it_lies.where_it_lies(home / "deep" / "record.db", mounts=f"{ROOT}srv:/x {place} {system} rw 0 0\n")
    assert (lying.kind, lying.file_system) == ("network", system)
    assert where_it_lies.where_it_lies(tmp_path / "record.db", mounts=ROOT).kind == "disk"
    assert where_it_lies.where_it_lies(tmp_path / "record.db", mounts="odd\n").kind == "unknown"


def test_no_record_is_made_in_a_network_and_one_there_is_only_looked_at(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = ready(tmp_path)
    monkeypatch.setattr(where_it_lies, "where_it_lies", lambda _: Lying("network", "cifs"))
    assert "cifs" in why_not_there(path)
    with pytest.raises(RecordReadOnlyError, match="network"):
        record(tmp_path / "new.db")
    assert not (tmp_path / "new.db").exists()
    trail = record(path)
    assert trail.read_only
    assert "network" in trail.held_by
    with pytest.raises(RecordReadOnlyError):
        trail.append([opening("2031-0002")])
    assert len(list(trail.events())) == 4
    trail.close()


@pytest.mark.parametrize("words", [("job", "note", "2031-0001", "x"), ("certificate", "2031-0001")])
def test_a_record_that_cannot_be_written_ends_with_six(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    (tmp_path / "home").mkdir()
    ready(tmp_path).rename(tmp_path / "home" / "record.db")
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    # root may write everything, so the lock's answer is planted
    monkeypatch.setattr(sqlite_store, "take_or_tell", lambda *_: ("", "the file cannot be written"))
    try:
        code = command_line.run(list(words))
    except Exception as fault:  # noqa: BLE001 as main does
        code = explain(fault)
    assert code == 6
    told = capsys.readouterr().err
    assert "cannot be written" in told
    assert "Traceback" not in told
    assert command_line.run(["job", "show", "2031-0001"]) == 0
    assert os.listdir(tmp_path / "home")  # noqa: PTH208 only that it is still there

"""A driver of somebody else: loaded when the settings name it, told by the list, and named in the record."""

from __future__ import annotations

import sys
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from bench.command_line.exit_codes import ExitCode
from bench.command_line.main import run
from bench.command_line.say import explain
from drivers import driver_points

MODULE = """
from decimal import Decimal
from drivers.contract import PlaneReading, SpinReading

class FarMachine:
    profile_name = "far"
    @classmethod
    def from_profile(cls, profile): return cls()
    def read(self, data):
        planes = tuple(PlaneReading(plane, Decimal("0.1"), Decimal("10"), 10.0) for plane in ("front", "rear"))
        return [SpinReading("1", "g", planes, 500.0, data.decode())]
"""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "far_machine.py").write_text(MODULE)
    (tmp_path / "torn_machine.py").write_text("raise OSError('library missing')")
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SPINLEDGER_BY", "nu")
    ours = driver_points.entry_points

    def with_foreign(*, group: str) -> list[EntryPoint]:
        points = list(ours(group=group))
        if group == "spinledger.balancers":
            points += [EntryPoint("far", "far_machine:FarMachine", group), EntryPoint("torn", "torn_machine:X", group)]
        return points

    monkeypatch.setattr(driver_points, "entry_points", with_foreign)
    return tmp_path / "home"


def called(*words: str) -> int:
    try:
        return run(list(words))
    except Exception as fault:  # noqa: BLE001 the last stop of the program, as in main
        return explain(fault)


def test_a_plug_in_is_loaded_when_named_and_stands_in_the_record(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert called("job", "new", "--example") == 0
    (tmp_path / "job.json").write_text(capsys.readouterr().out)
    assert called("job", "new", "--from", str(tmp_path / "job.json")) == 0
    number = next(word for word in capsys.readouterr().out.split() if "-0001" in word).strip(".,:;")
    (tmp_path / "run.txt").write_text("anything")
    words = ("spin", number, str(tmp_path / "run.txt"), "--balancer", "far")
    assert called(*words) == ExitCode.INPUT_REFUSED
    assert "add 'far' to 'plugins'" in capsys.readouterr().err
    home.mkdir(exist_ok=True)
    (home / "settings.toml").write_text('plugins = "far"\n')
    assert called(*words) == ExitCode.INPUT_REFUSED
    assert "not which files were meant" in capsys.readouterr().err
    assert called("settings", "--set", "plugins=far torn") == 0
    assert "far may run, as it is now: far_machine sha256:" in capsys.readouterr().err
    assert called("--safe-mode", *words) == called(*words, "--safe-mode") == ExitCode.INPUT_REFUSED
    assert "in safe mode no plug-in runs" in capsys.readouterr().err
    assert called("instruments", "--no-listening") == 0
    told = capsys.readouterr().out
    assert "balancer driver torn: fails" in told
    assert "library missing" in told
    assert "driver far" not in told
    assert called(*words) in {ExitCode.FINE, ExitCode.NEGATIVE}
    record = b"".join(path.read_bytes() for path in home.glob("record.db*"))
    assert b"balancer (plug-in far of far_machine, files " in record
    assert "far_machine" not in sys.modules
    text = (tmp_path / "far_machine.py").read_text()
    (tmp_path / "far_machine.py").write_text(text + "# mended\n")
    assert called(*words) == ExitCode.INPUT_REFUSED
    told = capsys.readouterr().err
    assert "the plug-in is not what was allowed" in told
    assert 'settings --set plugins="far torn"' in told
    assert called("doctor", "--no-ports") == ExitCode.NEGATIVE
    assert "not what was allowed" in capsys.readouterr().out
    assert called("settings", "--set", "plugins=far") == 0
    assert "torn" not in (home / "settings.toml").read_text()
    assert called("doctor", "--no-ports") in {ExitCode.FINE, ExitCode.NEGATIVE}
    assert "plug-in far runs in a process of its own" in capsys.readouterr().out


def test_an_unknown_plug_in_gets_no_leave(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert called("settings", "--set", "plugins=nobody") == ExitCode.INPUT_REFUSED
    assert "no plug-in is called that" in capsys.readouterr().err
    assert called("settings", "--set", "plugins=streaming") == ExitCode.INPUT_REFUSED
    assert "it comes with the program" in capsys.readouterr().err
    assert not (home / "settings.toml").exists()

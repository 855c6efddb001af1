"""Commands in one process: what they print, their exit codes, and that bad input is told and loses nothing."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from bench.command_line import main as command_line
from bench.command_line.exit_codes import ExitCode
from bench.command_line.say import explain, printable
from bench.trail.errors import RecordBusyError, RecordDamagedError, RecordFullError
from bench.use_cases.errors import RefusedError

RUN = (
    "RUN {n}\r\nSPEED 500 rpm\r\nFRONT AMOUNT {f} g ANGLE 190.0 deg\r\nREAR AMOUNT {r} g ANGLE 10.0 deg\r\nEND RUN\r\n"
)


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def call(*words: str) -> int:
    try:
        return int(command_line.run(list(words)))
    except SystemExit as fault:
        return int(fault.code or 0)
    except Exception as fault:  # noqa: BLE001 as main does
        return explain(fault)


@pytest.fixture
def job(home: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> str:
    assert call("job", "new", "--example") == 0
    spec = json.loads(capsys.readouterr().out)
    spec["kinds"] = []
    spec["layout"] = {"name": "a disc", "bank_deg": 0.0, "throws": []}
    path = tmp_path / "job.json"
    path.write_text(json.dumps(spec))
    assert call("job", "new", "--from", str(path), "--title", "pump disc", "--by", "mk", "--as-typed") == 0
    return capsys.readouterr().out.split()[1].rstrip(":")


def test_a_job_through_files(home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = tmp_path / "a.txt", tmp_path / "b.txt"
    first.write_text(RUN.format(n=1, f="5.00", r="4.00"))
    second.write_text(RUN.format(n=2, f="0.50", r="0.40"))
    assert call("spin", job, str(first)) == ExitCode.NEGATIVE
    said = capsys.readouterr().out
    assert "front 5.00 g at 190.0°, limit 1.00 g: outside" in said
    assert "next cut: front" in said
    assert call("spin", job, str(first)) == ExitCode.INPUT_REFUSED
    assert "taken before" in capsys.readouterr().err
    assert call("spin", job, str(second)) == ExitCode.FINE
    capsys.readouterr()
    assert call("job", "list", "--json") == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert row["number"] == job
    assert call("job", "list") == 0
    assert "pump disc" in capsys.readouterr().out
    assert call("job", "show", job) == 0
    assert "inside" in capsys.readouterr().out
    assert call("job", "show", job, "--json") == 0
    assert json.loads(capsys.readouterr().out)["job"] == job
    assert call("job", "find", "pump") == 0
    assert call("job", "find", "nosuchword") == ExitCode.NEGATIVE
    capsys.readouterr()
    assert call("trail", job, "--raw") == 0
    assert "FRONT AMOUNT 5.00 g" in capsys.readouterr().out
    assert call("trail", job, "--json") == 0
    assert len(json.loads(capsys.readouterr().out)) == 3
    assert call("certificate", job) == 0
    path = capsys.readouterr().out.strip()
    assert call("verify", "--against", path) == 0
    assert "agrees" in capsys.readouterr().out
    other = tmp_path / "other.html"
    other.write_text(Path(path).read_text().replace("spinledger-checkpoint:1:3:", "spinledger-checkpoint:1:2:"))
    assert call("verify", "--against", str(other)) == ExitCode.NOT_WHOLE
    other.write_text("nothing")
    assert call("verify", "--against", str(other)) == ExitCode.INPUT_REFUSED
    assert call("job", "reopen", job, "--reason", "x") == ExitCode.INPUT_REFUSED


def test_a_missing_plane_and_garbage_and_a_missing_file(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bad\x1b[2J.txt"
    path.write_text("RUN 1\r\nSPEED 500 rpm\r\nFRONT AMOUNT 5.00 g ANGLE 30.0 deg\r\nEND RUN\r\n")
    assert call("spin", job, str(path)) == ExitCode.INPUT_REFUSED
    told = capsys.readouterr().err
    assert "rear" in told.lower()
    assert "\x1b" not in told
    path.write_bytes(bytes(range(256)) * 4)
    assert call("spin", job, str(path)) == ExitCode.INPUT_REFUSED
    assert "\x1b" not in capsys.readouterr().err
    assert call("spin", job, str(tmp_path / "none.txt")) == ExitCode.INPUT_REFUSED
    assert call("spin", job) == ExitCode.INPUT_REFUSED
    assert call("verify") == 0
    assert "1 entry" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "where"),
    [("{", "the file"), ('{"title": ""}', "title"), ('{"title": "x", "oil_g": -1}', "layout")],
)
def test_job_files_that_cannot_be(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, where: str
) -> None:
    path = tmp_path / "job.json"
    path.write_text(text)
    assert call("job", "new", "--from", str(path)) == ExitCode.INPUT_REFUSED
    told = capsys.readouterr()
    assert told.out == ""
    assert where in told.err
    assert not (home / "record.db").exists()


def test_nothing_there_yet(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("job", "list") == 0
    assert "spinledger demo" in capsys.readouterr().err
    for words in (("job", "show", "2031-0001"), ("trail", "2031-0001"), ("verify",), ("job", "new")):
        assert call(*words) == ExitCode.INPUT_REFUSED
    assert call("weigh", "2031-0001") == ExitCode.INPUT_REFUSED
    assert call("listen") == ExitCode.INPUT_REFUSED
    assert call("nonsense") == ExitCode.USAGE
    assert call("open") == ExitCode.USAGE
    assert "needs a terminal" in capsys.readouterr().err


def test_settings_tell_where_each_value_came_from(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    home.mkdir()
    (home / "settings.toml").write_text('by = "mk"\n[scale]\nurl = "/dev/ttyUSB9"\n')
    monkeypatch.setenv("SPINLEDGER_BENCH", "bench 2")
    assert call("settings", "--json") == 0
    values = json.loads(capsys.readouterr().out)["values"]
    assert values["by"] == {"value": "mk", "from": str(home / "settings.toml")}
    assert values["bench"]["from"] == "environment SPINLEDGER_BENCH"
    assert values["balancer.profile"]["from"] == "default"
    assert call("settings") == 0
    assert "scale.url = /dev/ttyUSB9" in capsys.readouterr().out
    (home / "settings.toml").write_text("[scale]\nurll = 'x'\n")
    assert call("settings") == ExitCode.USAGE
    assert "'scale.url', the nearest" in capsys.readouterr().err
    (home / "settings.toml").write_text("by = \n")
    assert call("settings") == ExitCode.USAGE
    assert "settings.toml" in capsys.readouterr().err


def test_instruments_and_trying_a_profile(home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("instruments") == 0
    assert "plain-stream" in capsys.readouterr().out
    assert call("instruments", "--json") == 0
    assert "keyed-block" in json.loads(capsys.readouterr().out)["balancer_profiles"]
    path = tmp_path / "lines"
    path.write_bytes(b"wt +00603.8 g still\r\nwt +00603.7 g still\r\nwt +------- g over\r\n")
    assert call("instruments", "--try", "plain-stream", str(path)) == 0
    assert "603.7 g" in capsys.readouterr().out
    path.write_bytes(b"wt +00603.8 g still\r\nrubbish\r\nwt +00603.7 g still\r\n")
    assert call("instruments", "--try", "plain-stream", str(path)) == ExitCode.NEGATIVE
    path.write_text(RUN.format(n=1, f="5.00", r="4.00"))
    assert call("instruments", "--try", "keyed-block", str(path)) == 0
    assert "front 5.00 g at 190.0°" in capsys.readouterr().out
    assert call("instruments", "--try", "no-such", str(path)) == ExitCode.INPUT_REFUSED


def test_calc_is_reached(home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "t.json"
    path.write_text('{"grade_mm_per_s": 2.5, "rotor_mass_kg": 3600, "speed_rpm": 3000}')
    assert call("calc", "tolerance", str(path)) == 0
    # ISO 1940-1:2003 annex example, from memory: 28 600 g mm for G 2.5, 3600 kg, 3000 1/min
    assert json.loads(capsys.readouterr().out)["U_per_g_mm"] == pytest.approx(28_600, rel=0.005)
    path.write_text('{"grade_mm_per_s": 0, "rotor_mass_kg": 3600, "speed_rpm": 3000}')
    assert call("calc", "tolerance", str(path)) == ExitCode.INPUT_REFUSED
    told = capsys.readouterr()
    assert told.out == ""
    assert "grade_mm_per_s" in told.err


def test_every_fault_has_its_exit_code(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert explain(RefusedError("x", found="y")) == 4
    assert explain(RecordBusyError("r", found="y")) == 3
    assert explain(RecordDamagedError("r", found="y")) == 5
    assert explain(RecordFullError("r", found="y")) == 6
    assert explain(ZeroDivisionError()) == 70
    assert "our mistake" in capsys.readouterr().err
    assert "ZeroDivisionError" in (home / "last-fault.txt").read_text()


def test_nothing_acts_on_a_terminal() -> None:
    for hidden in ("\x1b]0;x\x07", "\x9b2J", "\u202e", "\u200b", "a\x00b", "\r\n", "\ud800"):
        shown = printable(hidden)
        assert all(c.isprintable() for c in shown)
        assert shown.count("<") >= 1


def test_version_and_broken_pipe_and_interrupt(home: Path) -> None:
    environment = os.environ | {"SPINLEDGER_HOME": str(home)}
    words = [sys.executable, "-m", "bench.command_line.main"]
    done = subprocess.run([*words, "--version"], capture_output=True, text=True, check=False, env=environment)
    assert done.stdout.startswith("spinledger ")
    process = subprocess.Popen([*words, "listen", "socket://127.0.0.1:9"], env=environment, stderr=subprocess.PIPE)
    assert process.stderr is not None
    process.stderr.readline()
    process.terminate()
    assert process.wait(timeout=10) == ExitCode.TERMINATED
    process.stderr.close()


def test_backup_damage_restore(home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, two = tmp_path / "stick", tmp_path / "disk"
    one.mkdir()
    two.mkdir()
    assert call("backup", str(one), str(two), "--thin") == 0
    assert capsys.readouterr().out.count("read back and whole") == 2
    assert call("verify") == 0
    head = capsys.readouterr().out.split()[-1]
    (backup,) = [path for path in one.iterdir() if path.suffix != ".json"][:1]
    (home / "record.db").write_bytes(b"not a record any more")
    assert call("verify") in {ExitCode.NOT_WHOLE, ExitCode.STORAGE}
    capsys.readouterr()
    assert call("restore", str(backup)) == 0
    told = capsys.readouterr().out
    assert head in told
    assert "kept as" in told
    assert call("job", "show", job) == 0
    assert call("backup", str(tmp_path / "not there" / "x")) in {ExitCode.STORAGE, 0}


def test_export_in_three_forms(home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run_file = tmp_path / "a.txt"
    run_file.write_text(RUN.format(n=1, f="5.00", r="4.00"))
    call("spin", job, str(run_file))
    capsys.readouterr()
    out = tmp_path / "out"
    for form, files in (("csv", 6), ("xlsx", 1), ("json", 1)):
        assert call("export", job, "--as", form, "--folder", str(out)) == 0
        paths = capsys.readouterr().out.split("\n")[:-1]
        assert len(paths) == files
        assert all(Path(path).resolve().is_relative_to(out) for path in paths)
    held = json.loads(next(out.glob("*.json")).read_text())
    assert held["format"] == "spinledger-job"
    assert "5.0" in next(out.glob("*runs*.csv")).read_text(encoding="utf-8-sig")
    assert call("export", "2031-0404") == ExitCode.INPUT_REFUSED

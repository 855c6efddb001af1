"""`spin --turned` and `spin --known-mass` as a person types them."""

from __future__ import annotations

import json
import os
import tomllib
from pathlib import Path

import pytest
from calling import call

from bench.command_line.exit_codes import ExitCode


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


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


def run_text(path: Path, front: tuple[float, float], rear: tuple[float, float]) -> str:
    (amount, angle), (far, far_angle) = front, rear
    path.write_text(
        f"RUN {path.stem}\r\nSPEED 500 rpm\r\nFRONT AMOUNT {amount:.2f} g ANGLE {angle:.1f} deg\r\n"
        f"REAR AMOUNT {far:.2f} g ANGLE {far_angle:.1f} deg\r\nEND RUN\r\n"
    )
    return str(path)


def test_the_set_turned_parts_rotor_from_set(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = run_text(tmp_path / "1.txt", (4.0, 30.0), (2.5, 200.0))
    second = run_text(tmp_path / "2.txt", (2.0, 30.0), (1.5, 200.0))
    assert call("spin", job, first, second, "--turned", "180") == ExitCode.NEGATIVE
    said = capsys.readouterr().out
    assert "rotor 3.00 g at 30°, bobweight set 1.00 g at 30°" in said
    assert "front 3.00 g at 30.0°, the bobweight set's part taken off" in said
    assert call("trail", job) == 0
    assert "bobweight set turned by 180°" in capsys.readouterr().out
    # said again, there is no further run to compare
    assert call("spin", job, "--turned", "180") == ExitCode.INPUT_REFUSED
    assert "1 run" in capsys.readouterr().err


def test_a_machine_that_counts_the_other_way_is_found_and_its_profile_put_right(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # clockwise from a zero 20 degrees before the mark: a mass at a shows at -a - 20
    runs = [
        run_text(tmp_path / f"{i}.txt", front, (0.0, 0.0))
        for i, front in enumerate([(0.0, 0.0), (10.0, 340.0), (10.0, 250.0)])
    ]
    assert call("spin", job, *runs, "--known-mass", "10", "--keep", "our-machine") == ExitCode.FINE
    said = capsys.readouterr().out
    assert "the other way round" in said
    assert "zero is -20°" in said
    (kept,) = Path(home).rglob("our-machine.toml")
    angle = tomllib.loads(kept.read_text())["angle"]
    assert (angle["sense"], angle["zero_deg"], angle["shows"]) == ("clockwise", -20.0, "excess")
    assert "10 g at the front" in tomllib.loads(kept.read_text())["checked"]
    # read with it, the same machine says where the mass is
    fresh = [
        run_text(tmp_path / f"again-{i}.txt", front, (0.0, 0.0))
        for i, front in enumerate([(0.0, 0.0), (10.0, 340.0), (10.0, 250.0)])
    ]
    call("spin", job, *fresh, "--known-mass", "10")
    assert "the profile is right" in capsys.readouterr().out
    assert call("spin", job, "--known-mass", "10", "--keep", "our-machine") == ExitCode.INPUT_REFUSED


def test_what_does_not_go_together_is_refused(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first = run_text(tmp_path / "1.txt", (4.0, 30.0), (2.5, 200.0))
    assert call("spin", job, first, "--keep", "x") == ExitCode.INPUT_REFUSED
    assert "--known-mass" in capsys.readouterr().err
    assert call("spin", job, "--known-mass", "10") == ExitCode.INPUT_REFUSED
    assert "fasten the mass" in capsys.readouterr().err.lower()

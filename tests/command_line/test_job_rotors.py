"""`job parts`, `job rotors`, `job next-rotor` and `spin --mounted` as a person types them, on a simulated rotor."""

from __future__ import annotations

import json
import math
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from calling import call

from bench.command_line.exit_codes import ExitCode
from sim.balancer import Balancer, MachineError
from sim.rotor import Rotor, at_angle

PLANES_M = (0.0, 0.45)
PLAIN = {"name": "a crank", "bank_deg": 0.0, "throws": []}


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SPINLEDGER_BY", "mk")
    return tmp_path / "home"


def new_job(capsys: pytest.CaptureFixture[str], tmp_path: Path, **changes: Any) -> str:
    capsys.readouterr()
    assert call("job", "new", "--example") == 0
    spec = json.loads(capsys.readouterr().out) | {"kinds": [], "layout": PLAIN, "rotor_mass_kg": None} | changes
    for plane in spec["planes"]:
        plane |= {"centre_deg": None, "arc_deg": 360.0}
    path = tmp_path / "job.json"
    path.write_text(json.dumps(spec))
    assert call("job", "new", "--from", str(path), "--title", "pump crank") == 0
    return capsys.readouterr().out.split()[1].rstrip(":")


def spun(rotor: Rotor, folder: Path, run: int, *, lone: bool = False) -> str:
    """The text that a machine without fault leaves of a simulated rotor."""
    still = MachineError(noise_kg=0.0, gain_sd=0.0, phase_sd_rad=0.0)
    machine = Balancer(PLANES_M, 0.090, still, set_up=np.random.default_rng(1), noise=np.random.default_rng(2))
    text = machine.measure(rotor, run=run, rpm=500.0).text()
    if lone:
        text = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("REAR"))
    path = folder / f"run-{run}.txt"
    path.write_text(text)
    return str(path)


def lump(grams: float, radius_mm: float, degrees: float, z_mm: float) -> Any:
    return at_angle(
        mass_kg=grams / 1000.0, radius_m=radius_mm / 1000.0, angle_rad=math.radians(degrees), z_m=z_mm / 1000.0
    )


def figures(said: str, plane: str) -> tuple[float, float]:
    line = next(one for one in said.splitlines() if one.startswith(f"{plane} "))
    words = line.split()
    return float(words[1]), float(words[4].rstrip("°,"))


def test_a_run_without_the_flywheel_foretells_the_one_with_it(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = new_job(capsys, tmp_path, balance="external")
    line = "flywheel; at 540; carries 6 g x 150 mm; heavy 90; within 10"
    assert call("job", "parts", job, "--part", line) == ExitCode.INPUT_REFUSED
    assert "reason" in capsys.readouterr().err
    assert call("job", "parts", job, "--part", line, "--reason", "maker's sheet") == ExitCode.FINE
    assert "front 2.00 g at 270° ± 0.20 g, rear 12.00 g at 90° ± 1.20 g" in capsys.readouterr().out
    assert call("job", "parts", job, "--json") == ExitCode.FINE
    assert json.loads(capsys.readouterr().out)[0]["carries_g"] == 6.0
    # the simulator's crank, as point masses in SI: it shares no code with the program's transfer
    rotor = Rotor((-0.1, 0.55))
    rotor.add(lump(9.0, 90.0, 20.0, 0.0))
    rotor.add(lump(5.0, 90.0, 250.0, 450.0))
    assert call("spin", job, spun(rotor, tmp_path, 1), "--mounted", "none") == ExitCode.NEGATIVE
    without = capsys.readouterr().out
    assert "no verdict, run without flywheel" in without
    rotor.add(lump(6.0, 150.0, 90.0, 540.0))
    assert call("spin", job, spun(rotor, tmp_path, 2), "--mounted", "flywheel") == ExitCode.NEGATIVE
    with_it = capsys.readouterr().out
    assert "before spinning: Rotating mass and overhang" in with_it
    assert "no verdict" not in with_it
    for plane in ("front", "rear"):
        (amount, angle), (shown, at) = figures(without, plane), figures(with_it, plane)
        assert amount == pytest.approx(shown, abs=0.02)
        assert abs((angle - at + 180.0) % 360.0 - 180.0) < 0.2
    assert call("certificate", job) == 0
    html = (home / "certificates").glob("*.html").__next__().read_text()
    assert "at run 2 mounted: flywheel: 6 g at 150 mm radius (900 g mm) at 90°" in html
    assert call("trail", job) == 0
    assert "mounted on the crank from here on: flywheel" in capsys.readouterr().out


def test_what_was_mounted_is_put_right_for_the_last_run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = new_job(capsys, tmp_path, balance="external", mounted=[{"name": "damper", "position_mm": -60.0}])
    rotor = Rotor((-0.1, 0.55), [lump(0.2, 90.0, 20.0, 0.0)])
    assert call("spin", job, spun(rotor, tmp_path, 1)) == ExitCode.NEGATIVE
    assert "nobody said what was mounted" in capsys.readouterr().out
    assert call("spin", job, "--last-run-too") == ExitCode.INPUT_REFUSED
    assert "--mounted" in capsys.readouterr().err
    assert call("spin", job, "--mounted", "all", "--last-run-too") == ExitCode.FINE
    assert "mounted: damper" in capsys.readouterr().out
    assert call("spin", job, "--mounted", "flywheel") == ExitCode.INPUT_REFUSED
    assert "wanted damper" in capsys.readouterr().err
    assert call("job", "parts", job, "--none", "--reason", "it is an internal one") == ExitCode.FINE
    assert "nothing belongs on this crank" in capsys.readouterr().out


def test_a_set_from_crank_to_clutch_cover(tmp_path: Path, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    profiles = home / "profiles"
    profiles.mkdir(parents=True)
    shipped = Path(__file__).parents[2] / "drivers" / "balancers" / "profiles" / "keyed-block.toml"
    told = shipped.read_text().replace('name = "keyed-block"', 'name = "our-machine"\nalone = "front"')
    (profiles / "our-machine.toml").write_text(told)
    assert call("settings", "--set", "balancer.profile=our-machine") == 0
    job = new_job(capsys, tmp_path)
    assert call("job", "rotors", job) == ExitCode.FINE
    assert "one rotor" in capsys.readouterr().out
    assert call("job", "next-rotor", job) == ExitCode.INPUT_REFUSED
    assert "none was planned" in capsys.readouterr().err
    crank = Rotor((-0.1, 0.55), [lump(0.3, 90.0, 20.0, 0.0), lump(0.4, 90.0, 250.0, 450.0)])
    assert call("spin", job, spun(crank, tmp_path, 1)) == ExitCode.FINE
    assert call("job", "next-rotor", job, "flywheel", "--radius", "150") == ExitCode.INPUT_REFUSED
    assert "--at" in capsys.readouterr().err
    begun = ("job", "next-rotor", job, "flywheel", "--at", "540", "--radius", "150", "--limit", "0.5")
    assert call(*begun) == ExitCode.FINE
    assert "arbor" in capsys.readouterr().out
    # on its arbor the flywheel is a rotor of its own: 0.2 g at 150 mm, in the machine's front plane set to 150 mm
    still = MachineError(noise_kg=0.0, gain_sd=0.0, phase_sd_rad=0.0)
    disc = Rotor((-0.1, 0.55), [lump(0.2, 150.0, 45.0, 0.0)])
    own = Balancer(PLANES_M, 0.150, still, set_up=np.random.default_rng(1), noise=np.random.default_rng(2))
    text = own.measure(disc, run=2, rpm=500.0).text()
    (tmp_path / "run-2.txt").write_text("".join(x for x in text.splitlines(keepends=True) if not x.startswith("REAR")))
    assert call("spin", job, str(tmp_path / "run-2.txt")) == ExitCode.FINE
    assert "front 0.20 g at 45.0°, limit 0.50 g: inside" in capsys.readouterr().out
    # crank and flywheel bolted together mark to mark, on the simulator: what the program says they add up to
    together = Rotor((-0.1, 0.55), [*crank.masses, lump(0.2, 150.0, 45.0, 540.0)])
    assert call("job", "rotors", job, "--json") == ExitCode.FINE
    total = json.loads(capsys.readouterr().out)["total"]
    for one, excess in zip(total, together.excess_at(PLANES_M, 0.090), strict=True):
        assert one["amount_g"] == pytest.approx(abs(excess) * 1000.0, abs=0.01)
        assert one["at_worst_g"] >= one["amount_g"] - 1e-9
    onto = ("job", "next-rotor", job, "clutch cover", "--on", "crank", "--at", "585", "--radius", "120")
    assert call(*onto, "--limit", "1.2") == ExitCode.FINE
    assert "on the balanced crank" in capsys.readouterr().out
    together.add(lump(5.0, 120.0, 60.0, 585.0))
    assert call("spin", job, spun(together, tmp_path, 3)) == ExitCode.NEGATIVE
    said = capsys.readouterr().out
    # what the cover carries is seen through what is left of crank and flywheel
    cut = next(line for line in said.splitlines() if line.startswith("next cut: clutch cover,"))
    assert float(cut.split(",")[1].split()[0]) == pytest.approx(5.0, abs=0.5)
    assert float(cut.split(" at ")[1].split("°")[0]) == pytest.approx(60.0, abs=5.0)
    assert call("job", "rotors", job) == ExitCode.NEGATIVE
    said = capsys.readouterr().out
    assert "flywheel (on an arbor, frozen): inside; 1 run, 0 cuts" in said
    assert "clutch cover (on the balanced crank): outside" in said


def test_a_planned_rotor_is_begun_by_itself(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stage = {
        "name": "damper",
        "planes": [{"name": "front", "radius_mm": 80.0, "position_mm": -60.0}],
        "tolerance": {"shop_limit_g": 0.4, "spin_uncertainty_g": 0.1},
    }
    job = new_job(capsys, tmp_path, stages=[stage])
    rotor = Rotor((-0.1, 0.55), [lump(30.0, 90.0, 20.0, 0.0)])
    call("spin", job, spun(rotor, tmp_path, 1))
    capsys.readouterr()
    assert call("job", "next-rotor", job) == ExitCode.INPUT_REFUSED
    assert "not inside" in capsys.readouterr().err
    assert call("job", "next-rotor", job, "--words", "comes back later") == ExitCode.FINE
    assert "next rotor: damper" in capsys.readouterr().out
    assert call("job", "show", job) == ExitCode.FINE
    shown = capsys.readouterr().out
    assert "rotor (by itself, frozen): outside; 1 run, 0 cuts" in shown
    assert "damper (on an arbor): unknown" in shown


def test_a_planned_rotor_that_does_not_come_is_dropped_with_who_and_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stage = {
        "name": "damper",
        "planes": [{"name": "front", "radius_mm": 80.0, "position_mm": -60.0}],
        "tolerance": {"shop_limit_g": 0.4, "spin_uncertainty_g": 0.1},
    }
    job = new_job(capsys, tmp_path, stages=[stage])
    rotor = Rotor((-0.1, 0.55), [lump(0.3, 90.0, 20.0, 0.0)])
    assert call("spin", job, spun(rotor, tmp_path, 1)) == ExitCode.FINE
    assert call("job", "rotors", job) == ExitCode.NEGATIVE
    assert "damper (to come, on an arbor): to come" in capsys.readouterr().out
    assert call("job", "rotors", job, "--drop", "flywheel", "--reason", "x") == ExitCode.INPUT_REFUSED
    assert "wanted damper" in capsys.readouterr().err
    assert call("job", "rotors", job, "--drop", "damper") == ExitCode.INPUT_REFUSED
    assert "reason" in capsys.readouterr().err
    assert call("job", "rotors", job, "--drop", "damper", "--reason", "the customer keeps it") == ExitCode.FINE
    assert "damper does not come" in capsys.readouterr().out
    assert call("job", "show", job) == ExitCode.FINE
    shown = capsys.readouterr().out
    assert "step: sign-off" in shown
    assert "stages: the customer keeps it" in shown

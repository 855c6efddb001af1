"""The balancing machine: what it prints, how far it is off, and that its texts appear whole."""

from __future__ import annotations

import cmath
import math
import re
from pathlib import Path

import numpy as np
import pytest

from sim.balancer import Balancer, MachineError, SpinText, write_export
from sim.rotor import Rotor, at_angle

_PLANES = (0.0, 0.45)
_PERFECT = MachineError(noise_kg=0.0, gain_sd=0.0, phase_sd_rad=0.0)


def _machine(error: MachineError, seed: int = 1) -> Balancer:
    return Balancer(
        _PLANES, 0.09, error, set_up=np.random.default_rng((seed, 1)), noise=np.random.default_rng((seed, 2))
    )


def _rotor() -> Rotor:
    rotor = Rotor((0.115, 0.335))
    rotor.add(at_angle(mass_kg=0.0123, radius_m=0.09, angle_rad=math.radians(238.5), z_m=0.0))
    rotor.add(at_angle(mass_kg=0.0041, radius_m=0.09, angle_rad=math.radians(12.0), z_m=0.45))
    return rotor


def test_a_perfect_machine_shows_what_is_there() -> None:
    text = _machine(_PERFECT).measure(_rotor(), run=3, rpm=500).text()
    assert text == (
        "RUN 3\nSPEED 500 rpm\nFRONT AMOUNT 12.30 g ANGLE 238.5 deg\nREAR AMOUNT 4.10 g ANGLE 12.0 deg\nEND RUN\n"
    )


def test_planes_need_not_begin_at_nothing() -> None:
    machine = Balancer((0.05, 0.40), 0.08, _PERFECT, set_up=np.random.default_rng(1), noise=np.random.default_rng(2))
    rotor = Rotor((0.1, 0.3), [at_angle(mass_kg=0.010, radius_m=0.08, angle_rad=0.0, z_m=0.05)])
    shown = machine.measure(rotor, run=1, rpm=500)
    assert shown.front_kg == pytest.approx(0.010)
    assert shown.rear_kg == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("rpm", [120.0, 500.0, 1200.0])
def test_speed_does_not_change_what_is_shown(rpm: float) -> None:
    shown = _machine(_PERFECT).measure(_rotor(), run=1, rpm=rpm)
    assert abs(shown.front_kg) == pytest.approx(0.0123, rel=1e-9)


def test_angles_are_never_printed_as_360() -> None:
    text = SpinText(1, 500, cmath.rect(0.01, math.radians(359.97)), cmath.rect(0.01, -1e-9)).text()
    assert re.findall(r"ANGLE (\S+)", text) == ["0.0", "0.0"]


def test_noise_is_a_tenth_of_a_gram_each_way() -> None:
    machine = _machine(MachineError(gain_sd=0.0, phase_sd_rad=0.0))
    shown = np.array([machine.measure(_rotor(), run=1, rpm=500).rear_kg for _ in range(3000)]) * 1000
    truth = cmath.rect(4.1, math.radians(12))
    assert np.std(shown.real) == pytest.approx(0.1, rel=0.06)
    assert np.std(shown.imag) == pytest.approx(0.1, rel=0.06)
    assert abs(np.mean(shown) - truth) < 0.01


def test_gain_and_turn_stay_through_a_set_up_and_differ_between_set_ups() -> None:
    one, again = _machine(MachineError(), 7), _machine(MachineError(), 7)
    assert one.factors == again.factors
    factors = np.array([_machine(MachineError(), seed).factors for seed in range(400)]).ravel()
    assert np.std(np.abs(factors)) == pytest.approx(0.01, rel=0.12)
    assert np.std(np.degrees(np.angle(factors))) == pytest.approx(1.0, rel=0.12)


def test_texts_replace_each_other_whole(tmp_path: Path) -> None:
    spin = SpinText(3, 500, 0.01 + 0j, 0.02j)
    path = write_export(tmp_path / "exports", spin)
    assert path.name == "run-003.txt"
    assert path.read_bytes() == spin.text().encode()
    write_export(tmp_path / "exports", SpinText(3, 500, 0.03 + 0j, 0.02j))
    assert "30.00 g" in path.read_text()
    assert [p.name for p in path.parent.iterdir()] == ["run-003.txt"]

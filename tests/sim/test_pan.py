"""The pan: it settles to the weight, as a damped spring does; live and batch agree."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from sim.batch_run import departure, run_batch
from sim.conditions import CONDITIONS, condition_named
from sim.floor import draw_floor
from sim.hands import draw_hands
from sim.pan import STEP_S, LivePan, Pans, draw_pans
from sim.scale import Scale


def _pans(seed: int = 1, count: int = 1) -> Pans:
    return draw_pans(CONDITIONS["C1"], count, np.random.default_rng(seed))


@pytest.mark.parametrize("seed", range(5))
def test_step_response_is_that_of_a_damped_spring(seed: int) -> None:
    pans = replace(_pans(seed), average_steps=np.array([1]))
    live = LivePan(pans)
    found = [live.step(0.5) for _ in range(500)]
    omega, damping = float(pans.natural_rad_per_s[0]), float(pans.damping[0])
    times = np.arange(501) * STEP_S
    # scipy's solution of the same differential equation
    _, wanted = signal.step(([omega**2], [1.0, 2 * damping * omega, omega**2]), T=times)
    assert np.allclose(found, 0.5 * wanted[1:], atol=2e-6)


def test_after_the_settling_time_the_rest_is_small() -> None:
    for seed in range(20):
        pans = replace(_pans(seed), average_steps=np.array([1]))
        live = LivePan(pans)
        settle_s = -np.log(2e-4) / (float(pans.natural_rad_per_s[0]) * float(pans.damping[0]))
        assert 0.3 <= settle_s <= 1.5
        found = [live.step(1.0) for _ in range(round(settle_s / STEP_S) + 1)]
        # the envelope of an oscillation is higher than the settled share by 1 / sqrt(1 - damping^2)
        assert abs(found[-1] - 1.0) <= 2e-4 / np.sqrt(1 - float(pans.damping[0]) ** 2) + 1e-3


def test_moving_average_is_the_mean_of_the_last_steps() -> None:
    pans = replace(_pans(), average_steps=np.array([25]))
    smooth, plain = LivePan(pans), LivePan(replace(pans, average_steps=np.array([1])))
    loads = np.random.default_rng(2).uniform(0, 1, 400)
    seen = np.array([plain.step(x) for x in loads])
    found = np.array([smooth.step(x) for x in loads])
    assert np.allclose(found[24:], np.convolve(seen, np.ones(25) / 25, mode="valid"), atol=1e-12)


def test_live_and_batch_agree() -> None:
    rng = np.random.default_rng(5)
    pans, floor = _pans(3), draw_floor(replace(CONDITIONS["C1"], shaking_m_per_s=(0.0, 0.0)), 1, rng)
    mass = np.array([0.45])
    hands = draw_hands(CONDITIONS["C6"], mass, rng)
    signals = run_batch(pans, floor, hands, mass, on_s=np.array([0.5]), end_s=5.0, rng=rng)
    live = LivePan(pans)
    since = np.arange(1250)[:, None] * STEP_S - 0.5
    loads = (hands.resting(since) * mass + hands.force_kg(since) * (since >= 0))[:, 0]
    found = np.array([live.step(float(x)) for x in loads])
    assert np.allclose(found, signals.part_kg[:, 0], atol=1e-6)
    assert float(np.abs(signals.empty_kg).max()) == 0.0


def test_departure_begins_at_the_weight_and_ends_at_nothing() -> None:
    left = departure(_pans(2), 0, width_s=0.1, seconds=4.0)
    assert left[0] == pytest.approx(1.0, abs=1e-2)
    assert abs(left[-1]) < 1e-6


@pytest.mark.parametrize("mass_g", [1.6, 43.8, 586.2, 2157.6])
def test_a_part_on_the_scale_is_shown_to_a_division(mass_g: float) -> None:
    scale = Scale(condition_named("demo"), np.random.default_rng(11))
    for _ in range(500):
        scale.advance()
    scale.lay(mass_g / 1000)
    for _ in range(2000):
        scale.advance()
    assert scale.shown.value == pytest.approx(mass_g, abs=0.11)
    assert scale.shown.steady
    scale.lift()
    for _ in range(1000):
        scale.advance()
    assert scale.shown.value == pytest.approx(0.0, abs=0.11)


def test_the_floor_shakes_a_loaded_pan_more() -> None:
    scale = Scale(condition_named("C3"), np.random.default_rng(3), tracks_zero=False)

    def spread() -> float:
        lines = [s.value for _ in range(10_000) if (s := scale.advance()) is not None and s.value is not None]
        return float(np.std(lines[20:]))

    empty = spread()
    scale.lay(1.6)
    for _ in range(1500):
        scale.advance()
    # (0.8 + 1.6) / 0.8: three times as much mass is shaken
    assert 2.0 < spread() / empty < 4.0


def test_the_same_seed_shows_the_same() -> None:
    def lines(seed: int) -> list[float | None]:
        scale = Scale(condition_named("C12"), np.random.default_rng(seed))
        scale.lay(0.3)
        return [s.value for _ in range(2000) if (s := scale.advance()) is not None]

    assert lines(4) == lines(4)
    assert lines(4) != lines(5)


def test_an_unknown_condition_is_refused() -> None:
    with pytest.raises(ValueError, match="wanted one of C1"):
        condition_named("C99")

"""The bytes of the line, the indicator's keys, and a bad line."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from sim.conditions import CONDITIONS
from sim.indicator import Indicator, Shown
from sim.pan import draw_pans
from sim.scale_wire import line_bytes
from sim.wire_faults import WireFaults


def _indicator(**changes: np.ndarray) -> Indicator:
    pans = draw_pans(CONDITIONS["demo"], 1, np.random.default_rng(1))
    quiet = {"noise_kg": np.zeros(1), "zero_kg": np.zeros(1)}
    return Indicator(replace(pans, **{**quiet, **changes}), np.random.default_rng(2))


def _rest(indicator: Indicator, kg: float, seconds: float = 2.0) -> None:
    for _ in range(round(seconds / 0.004)):
        indicator.see(kg)


@pytest.mark.parametrize(
    ("shown", "wanted"),
    [
        (Shown(603.8, 1, "g", steady=True), b"wt +00603.8 g still\r\n"),
        (Shown(-0.1, 1, "g", steady=False), b"wt -00000.1 g moves\r\n"),
        (Shown(0.0, 1, "g", steady=None), b"wt +00000.0 g\r\n"),
        (Shown(12.34, 2, "g", steady=True), b"wt +0012.34 g still\r\n"),
        (Shown(21.298, 3, "oz", steady=True), b"wt +021.298 oz still\r\n"),
        (Shown(None, 1, "g", steady=False, over=True), b"wt +------- g over\r\n"),
        (Shown(None, 1, "g", steady=False, under=True), b"wt -------- g under\r\n"),
    ],
)
def test_layout(shown: Shown, wanted: bytes) -> None:
    assert line_bytes(shown) == wanted


def test_shown_in_steps_of_a_division() -> None:
    indicator = _indicator()
    _rest(indicator, 0.60376)
    assert indicator.line(1.0).value == 603.8
    _rest(indicator, 0.60374)
    assert indicator.line(1.1).value == 603.7


def test_a_little_below_nothing_is_never_shown_as_minus_zero() -> None:
    indicator = _indicator()
    _rest(indicator, -0.00002)
    assert line_bytes(indicator.line(1.0)).startswith(b"wt +00000.0")


def test_keys() -> None:
    indicator = _indicator()
    _rest(indicator, 0.5)
    indicator.press_tare()
    assert indicator.line(1.0).value == 0.0
    _rest(indicator, 0.0)
    assert indicator.line(2.0).value == -500.0
    indicator.press_zero()
    assert indicator.line(3.0).value == 0.0
    _rest(indicator, 0.45359237)
    indicator.press_unit()
    # one pound is sixteen ounces, 0.45359237 kg by definition
    assert (indicator.line(4.0).value, indicator.line(4.1).unit) == (16.0, "oz")
    indicator.press_unit()
    assert indicator.line(4.2).unit == "g"


def test_more_than_it_can_carry() -> None:
    indicator = _indicator()
    _rest(indicator, 3.2)
    assert indicator.line(1.0).over
    _rest(indicator, -3.2)
    assert indicator.line(2.0).under


def test_the_steady_word_waits_and_leaves_at_once() -> None:
    indicator = _indicator()
    _rest(indicator, 0.3, 0.3)
    assert not indicator.line(0.3).steady
    _rest(indicator, 0.3, 1.0)
    assert indicator.line(1.3).steady
    _rest(indicator, 0.31, 0.004)
    assert not indicator.line(1.31).steady


def test_a_slow_display_repeats() -> None:
    indicator = _indicator(display_s=np.array([0.5]))
    seen: list[float | None] = []
    for tenth in range(20):
        _rest(indicator, 0.1 + tenth * 0.01, 0.1)
        seen.append(indicator.line(tenth * 0.1 + 1e-6).value)
    assert len(set(seen)) == 4


def test_a_sticky_display_does_not_move_for_less_than_its_dead_band() -> None:
    indicator = _indicator(calm_s=np.array([0.5]), dead_band_kg=np.array([3e-5]))
    _rest(indicator, 0.10004)
    first = indicator.line(1.0).value
    _rest(indicator, 0.10006)
    assert indicator.line(1.1).value == first == 100.0
    _rest(indicator, 0.10020)
    assert 100.0 < (indicator.line(1.2).value or 0.0) <= 100.1
    for tenth in range(40):
        last = indicator.line(1.3 + tenth * 0.1).value
    assert last == 100.2


def test_zero_is_followed_slowly_but_never_a_part() -> None:
    indicator = _indicator()
    _rest(indicator, 0.00004)
    for tenth in range(40):
        indicator.line(tenth * 0.1)
    _rest(indicator, 0.00008)
    assert indicator.line(4.0).value == 0.0
    _rest(indicator, 0.0012)
    for tenth in range(100):
        last = indicator.line(4.1 + tenth * 0.1)
    assert last.value == pytest.approx(1.2, abs=0.11)


def test_a_bad_line_damages_its_share() -> None:
    faults = WireFaults(np.random.default_rng(3), garbled=0.1, doubled=0.05)
    line = b"wt +00603.8 g still\r\n"
    seen = [faults.passed(line, 1.0) for _ in range(4000)]
    doubled = sum(s == line + line for s in seen) / 4000
    whole = sum(s == line for s in seen) / 4000
    assert doubled == pytest.approx(0.05, abs=0.012)
    assert 0.84 < whole < 0.87
    assert all(len(s) <= 2 * len(line) for s in seen)


def test_silence() -> None:
    faults = WireFaults(np.random.default_rng(3), silent_until_s=2.0)
    assert faults.passed(b"x", 1.9) == b""
    assert faults.passed(b"x", 2.0) == b"x"


def test_every_line_of_a_live_scale_keeps_the_layout() -> None:
    from sim.scale import Scale

    scale = Scale(CONDITIONS["C2"], np.random.default_rng(8))
    scale.lay(0.7)
    lines = [line_bytes(s) for _ in range(5000) if (s := scale.advance()) is not None]
    assert len(lines) > 50
    for line in lines:
        assert re.fullmatch(rb"wt [+-]\d{5}\.\d g( still| moves)?\r\n", line), line

"""What is made of a part between its tone and its lift, and what a scale's own "not steady" is worth."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from bench.capture.decisions import Taken
from bench.capture.settings import WeighSettings
from bench.capture.steady_word import SteadyWord

SET = (450.0, 450.4, 449.7, 450.1, 449.8)


def _told_after_s(scale, grams: float) -> float:
    began, before = scale.now_ns, len(scale.of(Taken))
    while len(scale.of(Taken)) == before:
        scale.show(grams, 0.1)
        assert scale.now_ns - began < 8e9
    return (scale.now_ns - began) / 1e9


def test_a_hand_that_lets_go_after_the_tone_makes_the_value_doubtful(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 5)
    scale.move(0.0, 450.6)  # a hand rests on it with 0.5 g
    _told_after_s(scale, 450.6)
    scale.show(450.6, 0.2)
    scale.show(450.1, 0.8)  # too short for a value of its own
    scale.lift(450.1)
    assert scale.doubted == ["piston 1"]


def test_a_part_that_lies_on_as_it_was_is_not_doubted_however_soon_it_is_lifted(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 5)
    scale.move(0.0, 450.1)
    _told_after_s(scale, 450.1)
    scale.show(450.1, 0.4, flicker=True)
    scale.lift(450.1)
    assert scale.doubted == []
    assert scale.lifted[0].final is None


def test_lines_missing_while_it_is_on_its_way_off_leave_what_was_seen_of_it(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 5)
    scale.move(0.0, 450.1)
    _told_after_s(scale, 450.1)
    scale.show(450.2, 3.0)  # the longer look settles on the next division
    scale.move(450.2, 30.0, 0.3)
    scale.now_ns += 1_000_000_000
    scale.show(0.0, 2.0)
    assert [str(one.final.shown) for one in scale.lifted if one.final] == ["450.2"]


def test_a_scale_that_never_calls_itself_steady_holds_nothing_back(shown_scale, due) -> None:
    waited = {}
    for calm_word in (True, False):
        scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
        scale.steady = calm_word
        scale.show(0.0, 12)
        scale.steady = False
        scale.move(0.0, 450.1)
        waited[calm_word] = _told_after_s(scale, 450.1)
    assert waited[True] - waited[False] == pytest.approx(1.0, abs=0.25)


def test_a_word_is_believed_again_once_it_is_right_again() -> None:
    word = SteadyWord()
    assert word.believed
    for _ in range(100):
        word.at_rest(steady=False)
    assert not word.believed
    for _ in range(600):
        word.at_rest(steady=True)
    assert word.believed
    before = word.believed
    word.at_rest(steady=None)  # a scale without the word teaches nothing
    assert word.believed is before


def test_a_slow_scale_is_waited_for_hardly_longer_than_a_fast_one(shown_scale, due) -> None:
    waited = {}
    for rate_hz in (4.0, 10.0):
        scale = shown_scale(due("piston 1", members=SET), rate_hz=rate_hz)
        scale.show(0.0, 5)
        scale.show(450.1, 0.3)
        began = scale.now_ns
        while not scale.of(Taken):
            scale.show(450.1, 1.01 / rate_hz)
        waited[rate_hz] = (scale.now_ns - began) / 1e9
    assert waited[4.0] - waited[10.0] <= 0.25


def _noisy(shown_scale, due, *, lies_on_s: float, good: float) -> Any:
    settings = WeighSettings(tone_divisions=3.0, good_divisions=good)
    scale = shown_scale(due("piston 1", members=SET), settings=settings)
    chance = np.random.default_rng(4)

    def lines(level: float, seconds: float) -> None:
        for _ in range(round(seconds * 10)):
            scale.line(f"{level + 0.13 * chance.standard_normal():.1f}")

    lines(0.0, 20.0)
    scale.move(0.0, 450.1)
    while not scale.taken:
        lines(450.1, 0.1)
    lines(450.1, lies_on_s)
    scale.lift(450.1)
    return scale


def test_a_value_that_is_not_sure_when_it_leaves_is_doubtful_then_and_not_before(shown_scale, due) -> None:
    scale = _noisy(shown_scale, due, lies_on_s=0.2, good=0.7)
    (first,) = scale.of(Taken)
    (lifted,) = scale.lifted
    assert not first.doubtful
    assert lifted.final is not None
    assert lifted.final.doubtful
    assert lifted.final.grams == first.grams


def test_a_value_that_grew_sure_until_it_left_is_what_all_that_was_seen_says(shown_scale, due) -> None:
    scale = _noisy(shown_scale, due, lies_on_s=6.0, good=0.7)
    (first,) = scale.of(Taken)
    (lifted,) = scale.lifted
    assert lifted.final is not None
    assert not lifted.final.doubtful
    assert lifted.final.standard_uncertainty_g < 0.07 < first.standard_uncertainty_g
    assert lifted.final.refined_g == pytest.approx(450.1, abs=3 * lifted.final.standard_uncertainty_g)


def test_a_value_that_was_sure_at_the_tone_is_left_alone(shown_scale, due) -> None:
    assert _noisy(shown_scale, due, lies_on_s=0.2, good=3.0).lifted[0].final is None

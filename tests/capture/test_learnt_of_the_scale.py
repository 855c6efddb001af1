"""What the machine learns of a scale and a set, and what it makes of a lift that came with lines missing."""

from __future__ import annotations

from decimal import Decimal
from math import exp, sqrt

import numpy as np
import pytest

from bench.capture.decisions import Advised, Asked, Expected, Lifted, Member, Taken
from bench.capture.family import Family
from bench.capture.noise import PanNoise
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settings import WeighSettings
from bench.capture.tails import TailMemory
from bench.capture.units import GRAMS, in_grams
from bench.capture.variances import Variance, VarianceByLength

SET = (450.0, 450.3, 449.8, 450.1)
SETTINGS = WeighSettings()


def _learn(values: np.ndarray, *, rate_hz: float) -> PanNoise:
    noise = PanNoise(0.1)
    for number, value in enumerate(values):
        noise.learn_empty(float(value), number / rate_hz, 1.0 / rate_hz)
    return noise


def test_air_pushes_a_heavy_part_no_harder_than_the_empty_pan() -> None:
    rng = np.random.default_rng(11)
    rate_hz, count = 10.0, 4000
    slow = np.zeros(count)  # wanders over seconds: longer means do not get rid of it
    for k in range(1, count):
        slow[k] = 0.98 * slow[k - 1] + 0.02 * rng.standard_normal() * 1.5
    air = _learn(slow, rate_hz=rate_hz)
    shaking = _learn(0.2 * rng.standard_normal(count), rate_hz=rate_hz)  # every line anew
    growth = shaking.growth(600.0)
    assert growth == pytest.approx(1.6, abs=0.01)
    assert air.best_mean_at(4.0, 600.0) < 1.2 * air.best_mean_at(4.0, 0.0)
    # independent lines: all of the noise of the mean is the floor's, so all of it grows
    assert shaking.best_mean_at(2.0, 600.0) == pytest.approx(growth * shaking.best_mean_at(2.0, 0.0), rel=0.05)


def test_few_long_stretches_do_not_talk_the_noise_of_slow_air_down() -> None:
    lengths = (0.5, 1.0, 2.0, 4.0)
    known = [Variance(0.01, weight=2.0, memory=60) for _ in lengths]
    learnt = VarianceByLength(known, lengths)
    for number, times in ((0, 100), (1, 50), (2, 25)):
        for _ in range(times):
            learnt.learn(number, 1.0)
    for _ in range(9):
        learnt.learn(3, 0.1)  # nine stretches of 4 s happened to look calm
    assert sqrt(learnt.at(4.0)) > 0.6
    for _ in range(100):
        learnt.learn(3, 0.1)
    assert sqrt(learnt.at(4.0)) < 0.4


def _family(*grams: float, kind: str = "locks") -> Family:
    members = tuple(Member(kind, place, g) for place, g in enumerate(grams, start=1))
    due = Expected(key=f"{kind} 9", kind=kind, label=f"{kind} 9", members=members)
    return Family(due, division_g=0.1)


def test_a_set_that_lies_close_makes_a_small_distance_surprising() -> None:
    close = _family(1.50, 1.51, 1.49, 1.50, 1.52, 1.48, 1.50)
    wide = _family(1.2, 1.8, 1.5, 1.3, 1.7, 1.4, 1.6)
    off = 1.75
    assert close.proof_s(off, uncertainty_g=0.04, settings=SETTINGS) > 2.0
    assert wide.proof_s(off, uncertainty_g=0.04, settings=SETTINGS) < 1.0
    assert close.proof_s(1.5, uncertainty_g=0.04, settings=SETTINGS) == SETTINGS.fits_s
    # it is only believed more slowly: what may be taken at all is as wide as before
    assert close.fits(off)


def test_noise_leaves_only_the_very_middle_of_a_wide_set_quick() -> None:
    wide = _family(450.0, 451.0, 449.0, 450.6, 449.4, kind="piston")
    close = _family(1.50, 1.60, 1.40, 1.55, 1.45)

    def proof_s(family: Family, grams: float, hidden: float) -> float:
        return family.proof_s(grams, uncertainty_g=0.04, settings=SETTINGS, hidden=hidden)

    assert proof_s(wide, 450.8, 0.0) == proof_s(close, 1.65, 0.0) == SETTINGS.fits_s
    shaking = proof_s(close, 1.65, 1.0)
    assert SETTINGS.fits_s < shaking < 1.5  # a little longer: a hand may still let go
    assert proof_s(wide, 450.1, 1.0) == shaking
    assert proof_s(wide, 450.8, 1.0) == SETTINGS.surprise_s


def test_a_surprise_stands_longer_the_deeper_a_hand_can_hide() -> None:
    wide = _family(450.0, 451.0, 449.0, 450.6, 449.4, kind="piston")
    waits = [wide.proof_s(453.0, uncertainty_g=0.04, settings=SETTINGS, hidden=h) for h in (0.0, 1.0, 1.5, 2.0)]
    assert waits[0] == waits[1] == SETTINGS.surprise_s
    assert waits[1] < waits[2] < waits[3] < SETTINGS.patience_s


def test_the_first_of_a_set_stands_longer_where_noise_hides_the_tremor_of_a_hand(shown_scale, due) -> None:
    waits = []
    for scatter in (0.0, 0.06):
        scale = shown_scale(due("pin 1"))
        rng = np.random.default_rng(11)
        for level, lines in ((0.0, 100), (150.0, 80)):
            for _ in range(lines):
                if not scale.taken:
                    scale.line(f"{level + scatter * rng.standard_normal():.1f}")
        waits.append(scale.now_ns / 1e9 - 11.0)
    assert scale.taken
    assert waits[1] > waits[0] + 0.3


def test_the_first_members_of_a_set_are_not_taken_for_its_spread() -> None:
    one = _family(450.0, kind="piston")
    assert one.proof_s(450.5, uncertainty_g=0.05, settings=SETTINGS) < 1.5


def test_a_display_that_mostly_repeats_is_believed_to_be_slow() -> None:
    tails = TailMemory(0.12)
    seconds, value = 0.0, 0.0
    for lines in (4, 4, 8, 4, 8, 4, 8, 8):
        value += 20.0
        for _ in range(lines):
            seconds += 0.1
            tails.see(seconds, value, division_g=0.1)
    assert tails.lines_per_update == 8.0


def _teach_slow_lifts(scale) -> None:
    for _ in range(3):
        for k in range(30):
            scale.line(f"{300.0 * (1.0 - exp(-k / 2)):.1f}")
        for k in range(30):
            scale.line(f"{300.0 * exp(-k / 2):.1f}")
        scale.show(0.0, 2)


def test_a_lift_with_lines_missing_is_no_key(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"piston {k}", members=SET) for k in (1, 2)))
    scale.show(0.0, 3)
    _teach_slow_lifts(scale)
    scale.lay(450.2)
    for _ in range(2):
        scale.garbage()
    scale.show(0.0, 3)
    assert scale.machine.phase.value == "pan empty"
    assert [d.key for d in scale.lifted] == ["piston 1"]
    scale.lay(449.9)
    assert scale.taken == [("piston 1", "450.2"), ("piston 2", "449.9")]


def test_a_key_pressed_under_the_next_part_does_not_amend_the_one_before(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"piston {k}", members=SET) for k in (1, 2)))
    scale.show(0.0, 3)
    _teach_slow_lifts(scale)
    scale.lay(450.2)
    scale.move(450.2, 0.5, 0.4)
    scale.move(0.5, 450.2, 0.3)  # the next one, before the pan was seen empty
    scale.show(450.3, 0.6)
    scale.show(0.0, 1.0)  # the tare key
    scale.show(-0.7, 4.0)  # a hand has let go
    scale.lift(450.3, 3.0, zero=-451.0)
    assert scale.taken[0] == ("piston 1", "450.2")
    assert [d.final for d in scale.lifted if d.key == "piston 1"] == [None]
    assert not scale.doubted


def test_a_light_part_is_told_about_before_it_is_laid_on_an_unsteady_pan(shown_scale, due) -> None:
    scale = shown_scale(due("locks 1", members=(1.5, 1.6), light=True))
    rng = np.random.default_rng(5)
    for _ in range(120):
        scale.line(f"{0.3 * rng.standard_normal():.1f}")
    told = [d.words for d in scale.of(Advised)]
    assert sum("weigh the locks together" in w for w in told) == 1
    assert "locks 1 (about 1.6 g)" in next(w for w in told if "together" in w)
    assert not scale.taken


@pytest.mark.parametrize(("members", "light"), [((450.0, 450.2), False), ((), False)])
def test_no_part_is_told_to_be_hidden_that_would_be_seen(shown_scale, due, members, light) -> None:
    scale = shown_scale(due("piston 1", members=members, light=light))
    rng = np.random.default_rng(5)
    for _ in range(120):
        scale.line(f"{0.3 * rng.standard_normal():.1f}")
    assert not any("hardly more" in d.words for d in scale.of(Advised))


def test_a_pan_hides_what_is_less_than_its_noise_reaches() -> None:
    scale = ScaleMemory(unit="g", shown=Decimal("0.0"), settings=SETTINGS)
    scale.noise.suppose(0.2)
    assert scale.hides(2.0)  # 6 x 0.2 g = 1.2 g, more than half of 2 g
    assert not scale.hides(3.0)


def test_questions_and_lifts_are_still_told_apart_after_a_key(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"piston {k}", members=SET) for k in (1, 2)))
    scale.show(0.0, 3)
    _teach_slow_lifts(scale)
    asked = len(scale.of(Asked))
    scale.lay(450.2)
    scale.show(0.0, 2.0)  # the tare key: nought from one line to the next, no line missing
    scale.lift(450.2, zero=-450.2)
    scale.show(-450.2, 3)
    assert [d.key for d in scale.of(Lifted)] == ["piston 1"]
    scale.lay(449.9, zero=-450.2)
    assert scale.taken == [("piston 1", "450.2"), ("piston 2", "449.9")]
    assert len(scale.of(Asked)) == asked


def test_a_part_that_rocks_as_fast_as_the_lines_come_is_not_taken_at_one_end_of_its_swing(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.move(0.0, 450.0)
    for swing in range(30):  # 2.5 divisions either side of 450 g, line by line
        scale.line(f"{450.0 + (0.3 if swing % 2 else -0.2):.1f}")
    assert not scale.taken
    scale.show(450.0, 2.0)
    assert scale.taken == [("piston 1", "450.0")]


def test_single_garbled_numbers_are_still_dropped(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.move(0.0, 450.0)
    for line in range(24):
        scale.line("453.0" if line in {3, 14} else "450.0")
    assert scale.taken == [("piston 1", "450.0")]
    assert scale.lives[-1].net_g == pytest.approx(450.0, abs=0.05)


@pytest.mark.parametrize(("limit_g", "times"), [(None, 2), (0.1, 3), (0.2, 2)])
def test_two_hangings_may_lie_as_far_apart_as_the_shop_allows(shown_scale, due, limit_g, times) -> None:
    settings = WeighSettings(hang_twice=True, hang_limit_g=limit_g)
    scale = shown_scale(due("small 1", members=(215.0, 215.2), swings=True), settings=settings)
    scale.show(0.0, 3)
    for grams in (215.0, 215.2, 215.1)[:times]:
        assert not scale.taken
        scale.lay(grams, 5)
        scale.lift(grams)
    (taken,) = scale.of(Taken)
    assert taken.refined_g == pytest.approx(215.1, abs=0.02)
    assert taken.hung_g == pytest.approx((215.0, 215.2, 215.1)[:times], abs=0.02)
    assert taken.doubtful is (times == 3)
    if times == 3:
        assert any("hung before at 215.0 g: 0.2 g apart, allowed 0.1 g" in d.words for d in scale.of(Advised))


@pytest.mark.parametrize(
    ("shown", "unit", "grams"),
    [
        # by hand: 20.7 x 28.349523125 = 586.8351..., 1.294 x 453.59237 = 586.9485...
        ("20.7", "oz", "586.84"),
        ("20.70", "oz", "586.835"),
        ("1.294", "lb", "586.949"),
        ("0.5864", "kg", "586.4000"),
        ("586.4", "g", "586.4"),
    ],
)
def test_grams_of_another_unit_have_no_more_digits_than_the_scale_can_mean(shown: str, unit: str, grams: str) -> None:
    assert str(in_grams(Decimal(shown), GRAMS[unit])) == grams

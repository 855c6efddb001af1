"""What the weigh machine does with what a scale shows, one story a test."""

from __future__ import annotations

import pytest

from bench.capture.decisions import Advised, Asked, Lifted, PanCleared, Phase, ScaleBack, ScaleLost, Taken
from bench.capture.settings import WeighSettings
from drivers.contract import Condition, LinkState

SET = (450.0, 450.3, 449.8, 450.1)


def test_parts_are_taken_one_after_another_without_a_key(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"piston {k}", members=SET) for k in (1, 2, 3)))
    scale.show(0.0, 3)
    for grams in (450.2, 449.9, 450.4):
        scale.lay(grams)
        scale.lift(grams)
    assert scale.taken == [("piston 1", "450.2"), ("piston 2", "449.9"), ("piston 3", "450.4")]
    assert [d.key for d in scale.lifted] == ["piston 1", "piston 2", "piston 3"]
    assert not scale.asked
    assert scale.machine.phase is Phase.EMPTY


def test_every_reading_shows_one_live_line(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1"))
    scale.show(0.0, 2)
    scale.lay(450.0)
    assert len(scale.lives) == 20 + 5 + 40
    assert scale.lives[-1].net_g == pytest.approx(450.0, abs=0.05)
    assert scale.lives[-1].phase is Phase.TAKEN


def test_a_value_carries_its_lines_and_an_honest_uncertainty(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.move(0.0, 450.0)
    scale.show(450.0, 3)
    (taken,) = scale.of(Taken)
    # two roundings of 0.1 g as rectangles, hand arithmetic: 0.1 / sqrt 6 = 0.0408
    assert 0.0408 <= taken.standard_uncertainty_g < 0.06
    assert len(taken.raw) >= 3
    assert taken.refined_g == pytest.approx(450.0, abs=0.01)
    assert not taken.doubtful


def test_a_surprising_value_must_stand_still_for_longer(shown_scale, due) -> None:
    def seconds_until_taken(grams: float) -> float:
        scale = shown_scale(due("piston 1", members=SET))
        scale.show(0.0, 3)
        start = scale.now_ns
        scale.lay(grams, 6)
        return (scale.of(Taken)[0].at_ns - start) / 1e9

    assert seconds_until_taken(450.1) < 2.0
    assert 3.0 < seconds_until_taken(453.5) < 5.0


def test_a_moving_pan_is_never_taken(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    for step in range(120):
        scale.line(f"{449.5 + 0.1 * (step % 17):.1f}")
    assert not scale.taken
    assert any("come to rest" in d.words or "stand still" in d.words for d in scale.of(Advised))


def test_the_steady_word_alone_proves_nothing_and_its_absence_holds_back(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.steady = True
    for step in range(20):
        scale.line(f"{300 + 7 * step:.1f}")
    assert not scale.taken
    scale.steady = False
    scale.show(450.0, 1.6)
    assert not scale.taken
    scale.show(450.0, 3.0)
    assert scale.taken


def test_a_wrong_kind_is_asked_about_and_can_be_insisted_on(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET, nominals=(("rod_whole", 612.0),)))
    scale.show(0.0, 3)
    scale.lay(612.3)
    assert not scale.taken
    assert len(scale.asked) == 1
    assert "612.3 g" in scale.asked[0]
    assert "rod whole" in scale.asked[0]
    assert scale.machine.phase is Phase.ASKING
    scale.answer("take")
    assert scale.taken == [("piston 1", "612.3")]
    assert scale.of(Taken)[0].doubtful


def test_the_question_goes_away_by_what_is_laid_next(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.lay(900.4)
    assert "two at once" in scale.asked[0]
    scale.move(900.4, 450.1)
    scale.show(450.1, 4)
    assert scale.taken == [("piston 1", "450.1")]


def test_again_blocks_until_it_was_lifted(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.lay(430.0)
    scale.answer("again")
    scale.show(430.0, 10)
    assert not scale.taken
    assert any("lift it" in d.words for d in scale.of(Advised))
    scale.lift(430.0)
    scale.lay(450.0)
    assert scale.taken == [("piston 1", "450.0")]


def test_nothing_is_taken_after_a_lost_link_until_the_pan_was_seen_empty(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.link(LinkState.LOST)
    scale.link(LinkState.LOST)
    assert scale.machine.phase is Phase.WAITING_FOR_SCALE
    assert len(scale.of(ScaleLost)) == 1
    scale.show(450.3, 1)
    scale.link(LinkState.OPEN)
    scale.link(LinkState.OPEN)
    assert len(scale.of(ScaleBack)) == 1
    scale.show(450.3, 9)
    assert scale.taken == [("piston 1", "450.0")]
    assert any("seen empty" in d.words for d in scale.of(Advised))
    assert scale.of(Asked)[-1].choices == ("clear",)
    scale.lift(450.3)
    scale.lay(450.3)
    assert scale.taken[-1] == ("piston 2", "450.3")


def test_clear_says_that_a_fixture_is_the_empty_pan(shown_scale, due) -> None:
    scale = shown_scale(due("small 1", nominal_g=215.0))
    scale.show(133.4, 9)
    assert scale.asked
    scale.answer("clear")
    assert scale.of(PanCleared)
    scale.show(133.4, 3)
    scale.lay(214.8, 5, zero=133.4)
    assert scale.taken == [("small 1", "214.8")]


def test_damaged_lines_are_ignored(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.move(0.0, 450.0)
    for _ in range(8):
        scale.show(450.0, 0.3)
        scale.garbage()
        scale.line("958.2")
    assert scale.taken == [("piston 1", "450.0")]
    assert scale.of(Taken)[0].refined_g == pytest.approx(450.0, abs=0.01)


def test_a_hole_in_the_lines_ends_a_window(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.move(0.0, 450.0)
    for _ in range(6):
        scale.show(450.0, 0.6)
        scale.now_ns += 1_000_000_000
    assert not scale.taken


def test_doubled_lines_are_no_evidence(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.move(0.0, 450.0)
    scale.gap_ns = 1_000_000
    for _ in range(10):
        scale.line("450.0")
    assert not scale.taken


def test_overload_underload_and_blank_lines_are_never_taken(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1"))
    scale.show(0.0, 3)
    for condition in (Condition.OVERLOAD, Condition.UNDERLOAD):
        for _ in range(30):
            scale.line("-----", condition=condition)
        assert scale.machine.phase is Phase.HELD
        scale.show(0.0, 2)
    for _ in range(30):
        scale.line("-----", condition=Condition.NO_NUMBER)
    assert not scale.taken
    words = [d.words for d in scale.of(Advised)]
    assert any("more than the scale can carry" in w for w in words)
    assert any("less than nothing" in w for w in words)


def test_another_unit_holds_and_asks_and_goes_on_when_it_is_back(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.show(15.883, 4, unit="oz", places=3)
    assert not scale.taken
    assert "oz" in scale.asked[-1]
    assert scale.machine.phase is Phase.HELD
    scale.answer("take")
    assert scale.machine.phase is Phase.HELD
    scale.show(0.0, 2)
    scale.lay(450.2)
    assert scale.taken == [("piston 1", "450.2")]


def test_the_new_unit_can_be_wanted(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.show(0.0, 1, unit="oz", places=3)
    scale.answer("clear")
    scale.show(0.0, 3, unit="oz", places=3)
    for shown in (3.0, 9.0, 14.0):
        scale.line(f"{shown:.3f}", "oz")
    scale.show(15.883, 5, unit="oz", places=3)
    (taken,) = scale.of(Taken)
    assert (taken.unit, str(taken.shown)) == ("oz", "15.883")
    # one ounce is 28.349523125 g exactly (NIST SP 811)
    assert taken.refined_g == pytest.approx(15.883 * 28.349523125, abs=0.02)


def test_an_unknown_unit_is_not_gone_on_in(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(3.0, 2, unit="momme")
    assert scale.machine.phase is Phase.WAITING_FOR_SCALE
    scale.show(0.0, 2)
    scale.show(3.0, 2, unit="momme")
    scale.answer("clear")
    assert scale.machine.phase is Phase.HELD


def test_light_parts_are_seen_and_weighed(shown_scale, due) -> None:
    scale = shown_scale(due("locks 1", members=(1.3, 1.4, 1.3), light=True))
    scale.show(0.0, 4)
    scale.show(1.4, 4)
    assert scale.taken == [("locks 1", "1.4")]


def test_a_light_part_in_noise_is_not_taken_but_spoken_about(shown_scale, due) -> None:
    scale = shown_scale(due("locks 1", members=(1.3, 1.4, 1.3), light=True))
    noise = [0.0, 0.5, -0.6, 0.4, -0.2, 0.7, -0.5, 0.1, -0.7, 0.6, -0.3, 0.3]
    for step in range(300):
        scale.line(f"{noise[(step * 7) % 12]:.1f}")
    for step in range(80):
        scale.line(f"{1.4 + noise[(step * 5) % 12] + 0.4 * ((step // 15) % 2):.1f}")
    assert not scale.taken
    assert scale.of(Advised, Asked)


def test_silence_is_spoken_about_once(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1"))
    assert scale.machine.tick(scale.now_ns) == []
    scale.show(0.0, 2)
    assert scale.machine.tick(scale.now_ns + 1_000_000_000) == []
    said = scale.machine.tick(scale.now_ns + 4_000_000_000)
    assert len(said) == 1
    assert scale.machine.tick(scale.now_ns + 5_000_000_000) == []


def test_nothing_due_takes_nothing(shown_scale) -> None:
    scale = shown_scale()
    scale.show(0.0, 2)
    scale.lay(450.0)
    scale.lift(450.0)
    assert not scale.of(Taken, Asked, Lifted)


def test_a_hung_rod_is_asked_for_twice(shown_scale, due) -> None:
    scale = shown_scale(due("small 1", members=(215.0, 215.2), swings=True), settings=WeighSettings(hang_twice=True))
    scale.show(0.0, 3)
    scale.lay(215.0, 5)
    assert not scale.taken
    assert any("hang it again" in d.words for d in scale.of(Advised))
    scale.lift(215.0)
    scale.lay(215.2, 5)
    (taken,) = scale.of(Taken)
    assert taken.refined_g == pytest.approx(215.1, abs=0.02)
    # |difference| / sqrt 2 x 1.1, hand arithmetic: 0.2 / 1.414 x 1.1 = 0.156
    assert taken.standard_uncertainty_g == pytest.approx(0.156, abs=0.005)


def test_a_limit_of_the_set_decides_what_is_doubtful(shown_scale, due) -> None:
    for limit, doubtful in ((1.0, False), (0.1, True)):
        scale = shown_scale(due("piston 1", members=SET, limit_g=limit))
        scale.show(0.0, 3)
        scale.lay(450.0)
        assert scale.of(Taken)[0].doubtful is doubtful


def test_take_before_it_is_steady_is_answered_with_a_sentence(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.lay(600.0, 3)
    scale.move(600.0, 580.0, 0.3)
    scale.answer("take")
    assert not scale.taken
    scale.show(580.0, 3)
    assert scale.machine.answer("nonsense", scale.now_ns) == []


def test_noise_that_only_a_load_brings_is_learnt_while_it_lies_there(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 5)
    scale.move(0.0, 450.0)
    for step in range(150):
        # three values about 450.1 in no order: more than the still, empty pan has ever shown
        scale.line(("449.9", "450.1", "450.3", "450.1", "450.3", "449.9", "450.0")[step * 37 % 101 % 7])
    assert [key for key, _ in scale.taken] == ["piston 1"]
    (taken,) = scale.of(Taken)
    assert taken.refined_g == pytest.approx(450.1, abs=0.1)

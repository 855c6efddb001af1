"""What the weigh machine makes of hands: a touch, a swap, a second part, the same part again, keys of the scale."""

from __future__ import annotations

import numpy as np
import pytest

from bench.capture.decisions import Advised, Doubted, Lifted, PanCleared, Phase

SET = (450.0, 450.3, 449.8, 450.1)


def test_a_touch_is_no_second_part(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.move(450.0, 500.0, 0.3)
    scale.move(500.0, 450.0, 0.4)
    scale.show(450.0, 5)
    scale.lift(450.0)
    assert scale.taken == [("piston 1", "450.0")]
    assert not scale.doubted


def test_the_same_weight_again_without_a_pause_is_asked_about(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.move(450.0, 0.3, 0.4)
    scale.move(0.3, 450.0, 0.4)
    scale.show(450.0, 4)
    assert scale.taken == [("piston 1", "450.0")]
    assert "same weight" in scale.asked[-1]
    scale.answer("take")
    assert scale.taken[-1][0] == "piston 2"


def test_the_same_part_laid_back_counts_once(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.move(450.0, 0.3, 0.4)
    scale.move(0.3, 450.0, 0.4)
    scale.show(450.0, 4)
    scale.answer("again")
    scale.show(450.0, 4)
    scale.lift(450.0)
    assert scale.taken == [("piston 1", "450.0")]


LOCKS = (1.5, 1.6, 1.4)


def _lay_after_a_short_lift(scale, grams: float, *, pause_s: float) -> None:
    scale.show(0.0, 3)
    scale.move(0.0, 1.5, 0.2)
    scale.show(1.5, 4)
    scale.move(1.5, 0.0, 0.2)
    scale.show(0.0, pause_s)
    scale.move(0.0, grams, 0.2)
    scale.show(grams, 4)


def test_the_same_weight_soon_after_a_glimpse_of_the_empty_pan_is_asked_about(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"locks {k}", members=LOCKS, light=True) for k in (1, 2)))
    _lay_after_a_short_lift(scale, 1.5, pause_s=0.5)
    assert scale.of(PanCleared)
    assert scale.taken == [("locks 1", "1.5")]
    assert scale.asked == ["the same weight as locks 1 again: is it locks 2, or locks 1 laid back?"]
    scale.answer("take")
    assert scale.taken[-1] == ("locks 2", "1.5")


def test_what_is_laid_next_answers_that_question(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"locks {k}", members=LOCKS, light=True) for k in (1, 2)))
    _lay_after_a_short_lift(scale, 1.5, pause_s=0.5)
    scale.move(1.5, 0.0, 0.2)
    scale.show(0.0, 1.5)
    scale.move(0.0, 1.5, 0.2)
    scale.show(1.5, 4)
    assert scale.taken == [("locks 1", "1.5"), ("locks 2", "1.5")]
    assert len(scale.asked) == 1


def test_another_weight_as_soon_and_the_same_weight_later_need_no_question(shown_scale, due) -> None:
    for grams, pause_s in ((1.8, 0.5), (1.5, 1.0)):
        scale = shown_scale(*(due(f"locks {k}", members=LOCKS, light=True) for k in (1, 2)))
        _lay_after_a_short_lift(scale, grams, pause_s=pause_s)
        assert scale.taken == [("locks 1", "1.5"), ("locks 2", str(grams))]
        assert not scale.asked


def test_a_swap_without_a_pause_is_seen_by_the_other_weight(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.move(450.0, 2.0, 0.3)
    scale.move(2.0, 451.1, 0.4)
    scale.show(451.1, 5)
    assert scale.taken == [("piston 1", "450.0"), ("piston 2", "451.1")]


def test_a_second_part_by_mistake_is_said(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.move(450.0, 900.3)
    scale.show(900.3, 12)
    assert [d.words for d in scale.of(Advised)] == ["two parts lie on the pan: take one off"]
    assert scale.taken == [("piston 1", "450.0")]


def test_what_never_stands_still_after_a_part_that_was_not_seen_to_leave_is_told(shown_scale, due) -> None:
    for expected, told in ((due("piston 2", members=SET), 1), (None, 0)):
        scale = shown_scale(due("piston 1", members=SET), *([expected] if expected else []))
        scale.show(0.0, 3)
        scale.lay(450.0)
        scale.move(450.0, 150.0, 0.3)  # away and the next one down before the pan was empty
        for k in range(100):
            scale.line(f"{420.0 + 0.2 * k:.1f}")
        assert sum("does not come to rest" in d.words for d in scale.of(Advised)) == told
        assert scale.taken == [("piston 1", "450.0")]


def test_a_second_part_on_purpose_is_weighed_by_difference(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", nominal_g=450.0), due("rings 1", nominal_g=44.0, stacked=True))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.move(450.0, 494.2)
    scale.show(494.2, 5)
    assert scale.taken == [("piston 1", "450.0"), ("rings 1", "44.2")]


def test_a_hand_that_lets_go_after_the_tone_amends_the_value(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.4, 2.0)
    assert scale.taken == [("piston 1", "450.4")]
    scale.show(449.9, 3.0)
    scale.lift(449.9)
    (lifted,) = scale.lifted
    assert lifted.final is not None
    assert str(lifted.final.grams) == "449.9"


def test_a_part_that_never_stood_still_again_is_doubted(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.4, 2.0)
    for step in range(25):
        scale.line(f"{447 + 1.3 * (step % 4):.1f}")
    scale.lift(447.0)
    assert scale.doubted == ["piston 1"]


def test_after_a_doubt_the_next_part_must_wait(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.4, 2.0)
    for step in range(25):
        scale.line(f"{447 + 1.3 * (step % 4):.1f}")
    scale.move(447.0, 0.0)
    scale.show(0.0, 0.6)
    assert scale.doubted
    scale.machine.expect(due("piston 1", members=SET))
    scale.lay(450.0, 5)
    assert len(scale.taken) == 1
    assert any("due again" in d.words for d in scale.of(Advised))
    assert scale.lives[-1].phase is Phase.CLEAR_PAN  # in big words, not only in a line below
    scale.lift(450.0)
    assert scale.lives[-1].phase is Phase.EMPTY
    scale.lay(450.0, 5)
    assert len(scale.taken) == 2


def test_tare_pressed_with_a_part_on_costs_nothing_but_a_sentence(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"piston {k}", members=SET) for k in (1, 2, 3)))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.show(0.0, 3)
    scale.move(0.0, -450.0)
    scale.show(-450.0, 3)
    scale.lay(450.3, 4, zero=-450.0)
    scale.lift(450.3, 3, zero=-450.0)
    scale.lay(449.8, 4, zero=-450.0)
    assert scale.taken == [("piston 1", "450.0"), ("piston 2", "450.3"), ("piston 3", "449.8")]
    assert not scale.doubted


def test_zero_pressed_on_a_pan_that_was_tared_away_is_no_part(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(-450.0, 1)
    scale.show(0.0, 3)
    scale.show(-450.2, 3)
    scale.show(0.0, 5)
    assert not scale.taken
    scale.lay(450.1)
    assert scale.taken == [("piston 1", "450.1")]


def test_a_key_pressed_in_mid_air_is_found_out_at_the_lift(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.move(0.0, 300.0)
    scale.show(455.5, 6)  # a tare taken at -5.4 g while the part was landing
    assert scale.taken == [("piston 1", "455.5")]
    scale.lift(450.1, 4, zero=5.4)
    assert scale.doubted == ["piston 1"]


def test_a_silence_while_a_taken_part_lies_forbids_to_think_it_is_the_same(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.now_ns += 2_000_000_000
    scale.show(450.0, 9)
    assert scale.taken == [("piston 1", "450.0")]
    assert "same weight" in scale.asked[-1]
    scale.lift(450.0)
    assert scale.lifted[-1].final is None


def test_clear_with_a_taken_part_on_ends_it(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET), due("piston 2", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.answer("clear")
    assert [d.key for d in scale.lifted] == ["piston 1"]
    scale.show(450.0, 3)
    scale.lay(450.3, 4, zero=450.0)
    assert scale.taken[-1] == ("piston 2", "450.3")


def test_doubts_are_one_kind_of_end(shown_scale, due) -> None:
    scale = shown_scale(due("piston 1", members=SET))
    scale.show(0.0, 3)
    scale.lay(450.0)
    scale.lift(450.0)
    assert len(scale.of(Lifted, Doubted)) == 1


def test_two_light_parts_are_never_one(shown_scale, due) -> None:
    scale = shown_scale(due("locks 2", members=(1.0, 1.0), light=True))
    scale.show(0.0, 3)
    scale.lay(2.0, 6)
    assert not scale.taken
    assert "two at once" in scale.asked[0]


def test_a_zero_found_wrong_after_the_lift_doubts_what_rests_on_it(shown_scale, due) -> None:
    scale = shown_scale(*(due(f"piston {k}", members=SET) for k in (1, 2)))
    scale.show(0.0, 4)
    # a key pressed while the hand still pressed: the empty pan reads -1.1 g from then on
    scale.lay(450.0 - 1.1, 6)
    assert scale.taken
    scale.move(448.9, -1.1)
    scale.show(-1.1, 3)
    assert scale.doubted == ["piston 1"]


@pytest.mark.parametrize(("shown", "sure"), [(("-100.0", "-100.0"), True), (("-100.0", "-104.0"), False)])
def test_a_damaged_line_that_is_sent_twice_is_one_line(shown_scale, due, shown: tuple[str, ...], sure: bool) -> None:
    scale = shown_scale(due("pin 1"))
    scale.show(0.0, 5.0)
    for line in shown:
        scale.line(line)
    scale.show(0.0, 0.3)
    scale.lay(140.0, 9.0)
    assert bool(scale.taken) is sure
    assert any("zero is not sure" in d.words for d in scale.of(Advised)) is not sure


@pytest.mark.parametrize("seed", range(12))
def test_a_lock_laid_on_a_pan_that_shakes_is_not_asked_about_as_nothing(shown_scale, due, seed: int) -> None:
    # the stretch that is looked at still holds what the empty pan showed: "0.1 g lies on the pan" helps nobody
    bench = shown_scale(due("locks 5", light=True, members=(1.1, 1.1, 1.2, 1.1)))
    rng = np.random.default_rng(seed)
    for grams, lines in ((0.0, 60), (1.1, 14), (0.0, 20)):
        for _ in range(lines):
            bench.line(f"{grams + 0.22 * rng.standard_normal():.1f}")
    assert [q for q in bench.asked if q.startswith(("0.", "-"))] == []


def _lock_under_a_hand(scale) -> None:
    scale.show(0.0, 4)
    scale.move(0.0, 3.1, 0.4)
    scale.show(3.1, 4)  # a finger rests on it
    scale.show(2.1, 0.9)  # and lets go, just before it is lifted


def test_a_doubt_does_not_hold_up_a_part_that_is_plainly_another(shown_scale, due) -> None:
    scale = shown_scale(due("locks 1", light=True), due("rod 1", members=(204.0, 204.2, 203.9)))
    _lock_under_a_hand(scale)
    scale.show(0.0, 0.2)
    scale.move(0.0, 204.1)
    scale.show(204.1, 5)
    assert [(d.key, d.next_lies) for d in scale.of(Doubted)] == [("locks 1", True)]
    assert scale.taken[-1] == ("rod 1", "204.1")


def test_a_doubt_holds_up_what_may_be_the_doubted_part_itself(shown_scale, due) -> None:
    scale = shown_scale(due("locks 1", light=True), due("locks 2", light=True, members=(2.0, 2.1, 2.2)))
    _lock_under_a_hand(scale)
    scale.show(0.0, 1.4)
    scale.show(2.1, 6)
    assert not any(d.next_lies for d in scale.of(Doubted))
    assert scale.doubted == ["locks 1"]
    assert len(scale.taken) == 1

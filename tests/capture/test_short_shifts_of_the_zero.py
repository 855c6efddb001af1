"""An empty pan that reads otherwise for a second: a gust, a hand at its edge, or a drop of oil that stays."""

from __future__ import annotations

import pytest

from bench.capture.decisions import Advised, Phase, Taken

SET = (40.7, 40.8, 40.7, 40.9, 40.8)


def _two_parts(scale, due, *, shifted_s: float, on: float) -> None:
    """One part, then the empty pan reads 0.2 g for so long, then the next part, where the pan really reads `on`."""
    scale.queue[:] = [due("bearings 6", members=SET), due("bearings 7", members=SET)]
    scale.machine.expect(scale.queue[0])
    scale.show(0.0, 6, flicker=True)
    scale.lay(40.8)
    scale.lift(40.8, 0.0)
    scale.show(0.2, shifted_s, flicker=True)
    scale.lay(40.8, 9.0, zero=on)


def test_nothing_is_weighed_on_a_shift_that_was_seen_for_a_moment(shown_scale, due) -> None:
    scale = shown_scale()
    _two_parts(scale, due, shifted_s=2.0, on=0.0)  # it has gone again, and the program cannot know
    assert [taken.key for taken in scale.of(Taken)] == ["bearings 6"]
    assert any("zero" in advised.words for advised in scale.of(Advised))
    assert scale.lives[-1].phase is Phase.CLEAR_PAN  # in big words, not only in a line below
    scale.lift(40.8, 3.0)
    scale.lay(40.8)
    assert scale.taken[1] == ("bearings 7", "40.8")


@pytest.mark.parametrize("shifted_s", [5.0, 8.0])
def test_a_shift_that_stays_is_the_zero(shown_scale, due, shifted_s: float) -> None:
    scale = shown_scale()
    _two_parts(scale, due, shifted_s=shifted_s, on=0.2)
    _, second = scale.of(Taken)
    assert second.standard_uncertainty_g < 0.1
    assert abs(second.refined_g - 40.8) < 0.1

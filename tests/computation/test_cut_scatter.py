"""A cut whose chips were weighed strays less, and the answer model knows it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_scatter import Cut
from bench.computation.stations import stations_anywhere


def test_weighed_chips_narrow_what_a_cut_may_have_taken() -> None:
    model = AnswerModel.start(stations_anywhere(["disc"])).first_reading([30.0 + 0j])
    # 20 g: 3 % and 0.15 g, 1.5 degrees; weighed 1 % and 0.05 g, 0.5 degrees
    for measured, share, grams, degrees in ((False, 0.03, 0.15, 1.5), (True, 0.01, 0.05, 0.5)):
        spread = model.scattered([Cut("disc", 0.0, 20.0, measured=measured)])
        assert spread[0, 0] == pytest.approx((20.0 * share) ** 2 + grams**2)
        assert spread[1, 1] == pytest.approx((20.0 * math.radians(degrees)) ** 2)
        assert np.allclose(spread, spread.T)


def test_a_hole_that_goes_deeper_strays_in_its_grams_only() -> None:
    model = AnswerModel.start(stations_anywhere(["disc"])).first_reading([30.0 + 0j])
    spread = model.scattered([Cut("disc", 90.0, 20.0, deepens=True)])
    assert spread == pytest.approx(np.diag([0.0, (20.0 * 0.03) ** 2 + 0.15**2]))


def test_a_cut_that_meets_a_hole_is_known_to_deepen_it() -> None:
    model = AnswerModel.start(stations_anywhere(["disc"])).first_reading([30.0 + 0j])
    (first,) = model.after_cuts([Cut("disc", 40.0, 5.0)]).pending
    assert not first.deepens
    drilled, _ = model.after_cuts([first]).update([26.0 - 3.0j])
    # whoever logs a cut need not say so
    again = drilled.after_cuts([Cut("disc", 40.5, 2.0), Cut("disc", 300.0, 2.0)]).pending
    assert [cut.deepens for cut in again] == [True, False]

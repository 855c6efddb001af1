"""Every mistake that is considered, listed by hand for two holes in one plane and one in the other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_scatter import Cut
from bench.computation.sense_checks_causes import Cause, Suspicion, suspicions
from bench.computation.stations import Station

STATIONS = (
    Station("front", 0, (1 + 0j, 0j), centre_deg=90.0, arc_deg=120.0),
    Station("rear", 1, (0j, 1 + 0j)),
    Station("rear too", 1, (0j, 1 + 0j)),
)
MADE = [Cut("front", 60.0, 10.0), Cut("rear", 200.0, 5.0), Cut("front", 100.0, 20.0)]


def considered() -> list[Suspicion]:
    model = AnswerModel.start(STATIONS).first_reading([40 + 0j, 5 + 0j]).after_cuts(MADE)
    return list(suspicions(model))


def of(cause: Cause, plane: int | None = None) -> list[Suspicion]:
    return [s for s in considered() if s.cause is cause and s.plane_index == plane]


def parts(suspicion: Suspicion) -> list[tuple[str, float, float]]:
    return [(c.station, c.angle_deg, c.grams) for c in suspicion.cuts]


AS_MADE = [("front", 60.0, 10.0), ("rear", 200.0, 5.0), ("front", 100.0, 20.0)]


@pytest.mark.parametrize(
    ("cause", "plane", "wanted"),
    [
        (Cause.CHANCE, None, [AS_MADE]),
        (Cause.MIRRORED, 0, [[("front", -60.0, 10.0), AS_MADE[1], ("front", -100.0, 20.0)]]),
        (Cause.MIRRORED, 1, [[AS_MADE[0], ("rear", -200.0, 5.0), AS_MADE[2]]]),
        (Cause.MIRRORED_IN_ARC, 0, [[("front", 120.0, 10.0), AS_MADE[1], ("front", 80.0, 20.0)]]),
        (Cause.MIRRORED_IN_ARC, 1, []),  # no arc to mirror in
        (Cause.OPPOSITE, 0, [[("front", 240.0, 10.0), AS_MADE[1], ("front", 280.0, 20.0)]]),
        (Cause.TWICE, 0, [[("front", 60.0, 20.0), AS_MADE[1], ("front", 100.0, 40.0)]]),
        (
            Cause.TWICE_ONE_HOLE,
            0,
            [[("front", 60.0, 20.0), *AS_MADE[1:]], [*AS_MADE[:2], ("front", 100.0, 40.0)]],
        ),
        (Cause.TWICE_ONE_HOLE, 1, []),  # one hole only
        (Cause.OTHER_PLANE, 0, [[("rear", 60.0, 10.0), AS_MADE[1], ("rear", 100.0, 20.0)]]),
        (Cause.OTHER_PLANE, 1, [[AS_MADE[0], ("front", 200.0, 5.0), AS_MADE[2]]]),
    ],
)
def test_the_cuts_of_a_mistake(
    cause: Cause, plane: int | None, wanted: Sequence[list[tuple[str, float, float]]]
) -> None:
    assert [parts(s) for s in of(cause, plane)] == list(wanted)


def test_angles_off_go_both_ways() -> None:
    found = of(Cause.ANGLE_OFF, 1)
    by = [s.by_deg for s in found]

    assert len(by) == 24
    assert all(-b in by for b in by if b is not None)
    assert [parts(s)[1][1] for s in found] == [200.0 + b for b in by if b is not None]
    assert all((parts(s)[0], parts(s)[2]) == (AS_MADE[0], AS_MADE[2]) for s in found)


def test_the_run_itself_may_be_wrong() -> None:
    # 28.349523125 g to the ounce (exact: the international avoirdupois ounce)
    assert [s.factor for s in of(Cause.OUNCES)] == [28.349523125, 1.0 / 28.349523125]
    assert [s.swapped for s in of(Cause.RUN_PLANES)] == [True]
    assert all(parts(s) == AS_MADE for s in [*of(Cause.OUNCES), *of(Cause.RUN_PLANES), *of(Cause.SLIPPED)])


def test_a_slipped_weight_is_shared_by_the_planes() -> None:
    # 3 g along and across: 9 / 2 = 4.5 g^2; half way both planes have half of it, a quarter of the square, together
    shifts = [s.shift for s in of(Cause.SLIPPED)]
    assert len(shifts) == 9
    first, middle, last = np.asarray(shifts[0]), np.asarray(shifts[4]), np.asarray(shifts[8])

    assert np.array_equal(first, np.diag([4.5, 4.5, 0.0, 0.0]))
    assert np.array_equal(last, np.diag([0.0, 0.0, 4.5, 4.5]))
    assert np.array_equal(middle, 1.125 * np.array([[1, 0, 1, 0], [0, 1, 0, 1], [1, 0, 1, 0], [0, 1, 0, 1]]))


@pytest.mark.parametrize(
    ("cause", "plane", "weight"),
    [(Cause.SLIPPED, None, 0.045), (Cause.OUNCES, None, 0.002), (Cause.RUN_PLANES, None, 0.001)]
    + [(c, 0, 0.003) for c in (Cause.MIRRORED, Cause.OPPOSITE, Cause.OTHER_PLANE)]
    + [(Cause.MIRRORED_IN_ARC, 0, 0.002), (Cause.TWICE, 0, 0.0045), (Cause.TWICE_ONE_HOLE, 0, 0.005)]
    # on either side nine of twelve angles weigh 0.005, the three that can just be seen 0.0075
    + [(Cause.ANGLE_OFF, 0, 2 * (9 * 0.005 + 3 * 0.0075) / 12)],
)
def test_a_mistake_weighs_the_same_however_finely_it_is_divided(cause: Cause, plane: int | None, weight: float) -> None:
    assert sum(s.weight for s in of(cause, plane)) == pytest.approx(weight)

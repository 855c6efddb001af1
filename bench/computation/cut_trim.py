"""The last touch to a plan that may finish: how much each of its holes takes, a little more or less or nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_plan import CutPlan
from bench.computation.cut_scatter import Cut
from bench.computation.cut_sites import LEAST_CUT_G
from bench.computation.cut_sketch import Sketch
from bench.computation.stations import angle_between_deg

_STEPS = (0.4, 0.15, 0.05)  # shares of the tolerance
_ROUNDS = 4
_BETTER = 0.002  # about one of the points a chance is counted over


def trimmed(
    sketch: Sketch, plan: CutPlan, *, model: AnswerModel, tolerance_g: Sequence[float], most_added: float
) -> CutPlan:
    """Return the plan with the amounts of its holes tried up and down as long as it is worth more.

    Parameters
    ----------
    sketch : Sketch
        Judges plans.
    plan : CutPlan
        Where to start.
    model : AnswerModel
        What is known.
    tolerance_g : Sequence[float]
        What may stay in each plane; sets the steps. [g]
    most_added : float
        Chance to go too far that no step may go beyond.

    Returns
    -------
    CutPlan
        The same holes or fewer of them; the plan itself where no step helps.

    Notes
    -----
    Source: coordinate ascent with shrinking steps.
    """
    best, worth = plan, sketch.worth(plan)
    mix = sketch.mix_of(plan.cuts)
    for number, share in enumerate(_STEPS):
        for _ in range(_ROUNDS):
            before = worth
            index = 0
            while index < len(best.cuts):
                for cuts in _neighbours(best.cuts, index, model, tolerance_g, share, may_drop=number == 0):
                    tried = sketch.of_cuts(cuts, mix=mix)
                    value = sketch.worth(tried)
                    if value > worth + _BETTER and tried.chance_added <= max(most_added, best.chance_added):
                        best, worth = tried, value
                        break
                index += 1
            if worth == before:
                break
    return best


def _neighbours(
    cuts: tuple[Cut, ...],
    index: int,
    model: AnswerModel,
    tolerance_g: Sequence[float],
    share: float,
    *,
    may_drop: bool,
) -> Iterator[tuple[Cut, ...]]:
    """Yield the cuts with one of them a step larger, a step smaller, and left out."""
    cut = cuts[index]
    place = model.station_index(cut.station)
    plane = model.stations[place].plane_index
    step = share * tolerance_g[plane] / max(abs(complex(model.effects[plane, place])), 1e-9)
    for grams in (cut.grams + step, cut.grams - step):
        if LEAST_CUT_G <= grams <= _room(cut, model):
            yield (*cuts[:index], replace(cut, grams=grams), *cuts[index + 1 :])
    if may_drop and len(cuts) > 1:
        yield (*cuts[:index], *cuts[index + 1 :])


def _room(cut: Cut, model: AnswerModel) -> float:
    """Return what the hole may take now. [g]."""
    station = model.stations[model.station_index(cut.station)]
    made = (
        h.grams
        for h in station.holes
        if abs(angle_between_deg(cut.angle_deg, from_deg=h.angle_deg)) < station.gap_deg / 3.0
    )
    return station.most_g(cut.diameter_mm) - (next(made, 0.0) if cut.deepens else 0.0)

"""The next cuts: both planes at once, short of what could go too far, in few holes, with their chances.

A plan is made in three steps: how much to take in each plane (`cut_aim`), in which holes (`cut_holes`), and with
which chances (`cut_chances`). Several such plans, more and less bold, are sketched (`cut_sketch`); near the end the
amounts of their holes are trimmed (`cut_trim`). When metal cannot be taken where it would have to go, heavy metal is
proposed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bench.computation.answer_model import AnswerModel
from bench.computation.checks import positive
from bench.computation.cut_plan import CutLimits, CutPlan
from bench.computation.cut_sketch import PROMISING, WORTH_A_LOOK, Sketch
from bench.computation.cut_trim import trimmed
from bench.computation.errors import QuantityError

_OUT_OF_REACH = 0.5
_METAL_LATER = "part of what is left is where no cut reaches: heavy metal will be needed after this"


def plan_cuts(model: AnswerModel, *, tolerance_g: Sequence[float], limits: CutLimits | None = None) -> CutPlan:
    """Return the next cuts for a rotor that is not inside its tolerance.

    Parameters
    ----------
    model : AnswerModel
        What is known, with at least one reading and no cut waiting for its answer.
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]
    limits : CutLimits | None
        What the plan has to keep; None for the usual.

    Returns
    -------
    CutPlan
        Cuts with their forecast, or a run without a cut, or heavy metal, with the reason.

    Raises
    ------
    QuantityError
        If no reading was taken, cuts wait for their answer, or a tolerance cannot be.

    Examples
    --------
    >>> from bench.computation.stations import stations_anywhere
    >>> model = AnswerModel.start(stations_anywhere(["disc"])).first_reading([12.0 + 0j])
    >>> [(c.station, round(c.angle_deg), round(c.grams)) for c in plan_cuts(model, tolerance_g=[1.0]).cuts]
    [('disc', 0, 12)]
    """
    if model.readings == 0:
        raise QuantityError("model", found="no reading", wanted="a first reading before cuts are planned")
    if model.pending:
        raise QuantityError("model", found="cuts without their run", wanted="a run after the last cuts")
    if len(tolerance_g) != model.planes:
        raise QuantityError("tolerance_g", found=f"{len(tolerance_g)} values", wanted=f"{model.planes}, one a plane")
    for index, value in enumerate(tolerance_g):
        positive(value, quantity=f"tolerance_g[{index}]")
    limits = limits if limits is not None else CutLimits()
    sketch = Sketch(model, tuple(tolerance_g), limits)
    best = _best_of(sketch, model, tolerance_g, limits)
    again = sketch.judged((), sketch.now())
    promising = again.chance_done >= PROMISING and sketch.worth(again) >= sketch.worth(best)
    if not best.cuts or promising or sketch.is_idle(best):
        return sketch.without_cut(again)
    return best if best.chance_too_far <= _OUT_OF_REACH else replace(best, why=f"{best.why}; {_METAL_LATER}")


def _best_of(sketch: Sketch, model: AnswerModel, tolerance_g: Sequence[float], limits: CutLimits) -> CutPlan:
    """Return the careful plan, or what is worth more of a careful and a bold one where one run may do."""
    usual = limits.deviations_for(model)
    careful = sketch.careful(sketch.plan(usual), usual)
    if sketch.is_far_and_unknown:
        return careful
    hasty = sketch.plan(0.0)
    if hasty.chance_done < WORTH_A_LOOK:
        return careful if careful.cuts else hasty
    most = max(limits.worst_chance, careful.chance_added)
    ready = [
        trimmed(sketch, plan, model=model, tolerance_g=tolerance_g, most_added=limits.worst_chance)
        for plan in (careful, hasty)
        if plan.cuts
    ]
    return max((plan for plan in ready if plan.chance_added <= most), key=sketch.worth, default=careful)

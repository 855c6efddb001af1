"""The next cuts: the answer model is built again from the job's runs and cuts, then asked."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import JobState
from bench.use_cases.view import CutLine, Proposal, Review

if TYPE_CHECKING:
    from bench.computation.answer_model import AnswerModel

MOST_G_PER_HOLE = 40.0
"""A single hole of more than this is split; the depth limit is the crank maker's. [g]"""


def propose_cuts(state: JobState, review: Review) -> Proposal | None:
    """Return the next cuts, None when there is nothing to say yet.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        What is computed of it.

    Returns
    -------
    Proposal or None
        None before the first run and while cuts wait for a run.
    """
    if not state.spins or len(state.cuts) > state.spins[-1].after_cuts:
        return None
    if review.whole_verdict is PlaneVerdict.INSIDE:
        return Proposal(cuts=(), why="Every plane is inside: no more cuts.")
    from bench.computation.answer_model import in_words
    from bench.computation.cut_planner import plan_cuts

    model, sense = answer_so_far(state)
    if sense:
        return Proposal(
            cuts=(),
            why=f"{sense} No cut is proposed from such a run: spin again without a cut, or take back what is not so.",
            doubt=sense,
        )
    guard = state.spec.tolerance.spin_uncertainty_g
    # a run passes with its guard band, so the plan aims at the limit less that
    tolerance = [max(line.limit_g - guard, 0.3 * line.limit_g) for line in review.planes]
    plan = plan_cuts(model, tolerance_g=tolerance)
    names = [plane.name for plane in state.spec.planes]
    answer = in_words(model, plane_names=tuple(names)) if len(names) == 2 and state.cuts else ()
    return Proposal(
        cuts=tuple(
            CutLine(
                plane=cut.station,
                angle_deg=cut.angle_deg,
                grams=cut.grams,
                diameter_mm=cut.diameter_mm,
                depth_mm=cut.depth_mm,
            )
            for cut in plan.cuts
        ),
        why=plan.why[:1].upper() + plan.why[1:] + ".",
        expected=tuple(
            f"next run should show {abs(left):.1f} g in {name}, give or take {2 * u:.1f} g"
            for name, left, u in zip(names, plan.left, plan.uncertainty_g, strict=True)
        ),
        answer=tuple(answer),
    )


def answer_so_far(state: JobState) -> tuple[AnswerModel, str]:
    """Return how this crank answers, learnt from all runs and the cuts between them.

    Parameters
    ----------
    state : JobState
        With at least one run.

    Returns
    -------
    tuple[AnswerModel, str]
        After the last run; and what most likely went wrong before it, empty when it is where it was expected.
    """
    from bench.computation.answer_model import AnswerModel
    from bench.computation.cut_scatter import Cut
    from bench.computation.sense_checks import check_sense
    from bench.computation.stations import Station

    names = [plane.name for plane in state.spec.planes]
    stations = [
        Station(
            plane.name,
            index,
            tuple(1.0 + 0j if other == index else 0j for other in range(len(names))),
            centre_deg=plane.centre_deg,
            arc_deg=plane.arc_deg,
            most_g_per_hole=MOST_G_PER_HOLE,
        )
        for index, plane in enumerate(state.spec.planes)
    ]
    noise_g = max(state.spec.tolerance.spin_uncertainty_g / 2.0, 0.01)
    model = AnswerModel.start(stations, noise_g=noise_g)
    done, sense = 0, ""
    for number, spin in enumerate(state.spins):
        reading = [
            cmath.rect(amount.amount_g, math.radians(amount.angle_deg))
            for name in names
            for amount in spin.planes
            if amount.plane == name
        ]
        if number == 0:
            model = model.first_reading(reading)
        else:
            cuts = [
                Cut(cut.plane, cut.angle_deg, cut.grams, cut.diameter_mm, cut.depth_mm)
                for cut in state.cuts[done : spin.after_cuts]
            ]
            if cuts:
                model = model.after_cuts(cuts)
            check = check_sense(model, reading)
            words = check.in_words(plane_names=names)
            sense = f"{words[:1].upper()}{words[1:]}." if check.alarm else ""
            if check.alarm:
                # nothing is learnt from an answer that makes no sense: what is left is taken as read, the rest anew
                model = AnswerModel.start(model.stations, noise_g=noise_g).first_reading(reading)
            else:
                model, _ = model.update(reading)
        done = spin.after_cuts
    return model, sense

"""The next cuts: the answer model is built again from the job's runs and cuts, then asked."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import Cut as CutRecorded
from bench.models.job_state import JobState, Spin
from bench.models.on_crank import carried_by, mounted_words, names_of, with_all
from bench.models.rotor_set import missing_parts
from bench.models.tooling import tooling_parts, tooling_words
from bench.use_cases.aside_runs import machine_words
from bench.use_cases.part_on_crank import not_the_parts, part_view, shown_of
from bench.use_cases.view import CutLine, Proposal, Review

if TYPE_CHECKING:
    from bench.computation.answer_model import AnswerModel
    from bench.computation.cut_plan import CutPlan
    from bench.computation.cut_scatter import Cut
    from bench.computation.stations import Station
    from bench.use_cases.crank_stations import CrankStations


def propose_cuts(state: JobState, review: Review, *, one_plane: bool = False) -> Proposal | None:
    """Return the next cuts, None when there is nothing to say yet.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        What is computed of it.
    one_plane : bool
        Whether only the heavier plane is cut before the next run.

    Returns
    -------
    Proposal or None
        None before the first run and while cuts wait for a run.
    """
    if not state.spins or len(state.cuts) > state.spins[-1].after_cuts:
        return None
    if review.whole_verdict is PlaneVerdict.INSIDE:
        return Proposal(cuts=(), why="Every plane is inside: no more cuts.")
    from bench.computation.cut_plan import CutLimits
    from bench.computation.cut_planner import plan_cuts
    from bench.use_cases.crank_stations import crank_stations

    shown = with_all(state, state.spins[-1])
    if not shown.final and not shown.corrected:
        return Proposal(cuts=(), why=_why_nothing(state))
    crank = crank_stations(state.spec, state.stations)
    model, sense = answer_so_far(state, crank)
    if sense:
        return Proposal(
            cuts=(),
            why=f"{sense} No cut is proposed from such a run: spin again without a cut, or put right what was "
            "recorded otherwise than it was made.",
            doubt=sense,
        )
    part = part_view(state.spec)
    if shown.corrected:
        unsure = shown.uncertainty_g
        model = _less_sure(model, unsure if part is None else [part.noise() * max(unsure)] * len(crank.planes))
    guard = state.spec.tolerance.spin_uncertainty_g
    # a run passes with its guard band, so the plan aims at the limit less that
    tolerance = [max(line.limit_g - guard, 0.3 * line.limit_g) for line in review.planes]
    foreign = not_the_parts(state, part) if part is not None else ""
    if part is not None:
        tolerance = part.tolerance_g(shown_of(state, state.spins[-1]), guard_g=guard)
    plan = plan_cuts(model, tolerance_g=tolerance, limits=CutLimits(one_plane=one_plane))
    return Proposal(
        cuts=tuple(_line_of(cut, model, crank) for cut in plan.cuts),
        why=_corrected_words(state) + (foreign or plan.why[:1].upper() + plan.why[1:] + "."),
        expected=tuple(
            f"next run should {'show' if part is None else 'leave'} {abs(left):.1f} g in {name}, "
            f"give or take {2 * u:.1f} g"
            for name, left, u in zip(crank.planes, plan.left, plan.uncertainty_g, strict=True)
        ),
        answer=(*_slugs(plan, crank), *_answer_words(model, state, crank), *_aside_words(state)),
    )


def _line_of(cut: Cut, model: AnswerModel, crank: CrankStations) -> CutLine:
    station = model.stations[model.station_index(cut.station)]
    hole = crank.depth(cut, station)
    return CutLine(
        plane=crank.planes[station.plane_index],
        station=cut.station if crank.places else "",
        angle_deg=round(cut.angle_deg, 1) % 360.0,
        grams=cut.grams,
        diameter_mm=hole.diameter_mm,
        depth_mm=hole.depth_mm,
        from_depth_mm=hole.from_depth_mm,
    )


def _slugs(plan: CutPlan, crank: CrankStations) -> tuple[str, ...]:
    words = [(metal.station, crank.slug_words(metal.station, metal.net_g)) for metal in plan.heavy_metal]
    return tuple(f"{station}: {slug}" for station, slug in words if slug)


def _answer_words(model: AnswerModel, state: JobState, crank: CrankStations) -> tuple[str, ...]:
    """Return how this crank answers, as far as its runs told, and how well the machine repeats."""
    from bench.computation.answer_model import in_words

    answer = in_words(model, plane_names=crank.planes) if state.cuts and len(crank.planes) > 1 else ()
    if not model.repeats:
        return answer
    runs = "1 run" if model.repeats == 1 else f"{model.repeats} runs"
    return (*answer, f"readings repeat within {2 * model.noise_g:.2f} g, from {runs} without a cut")


def _aside_words(state: JobState) -> tuple[str, ...]:
    """Return what runs that are not the rotor's own told."""
    return tuple(words for words in (mounted_words(state), tooling_words(state), machine_words(state)) if words)


def _why_nothing(state: JobState) -> str:
    last = state.spins[-1]
    missing = missing_parts(state.spec, last)
    if missing is None:
        return f"Nobody said what was mounted at run {last.number}: say it (key 9), then cuts are planned."
    return (
        f"Run {last.number} was made without {names_of(missing)}, and what is missing carries is not known: mount it "
        "and spin, or enter it (key -)."
    )


def _corrected_words(state: JobState) -> str:
    missing = missing_parts(state.spec, state.spins[-1])
    if not missing:
        return ""
    return f"From a run without {names_of(missing)}, added as nominal; no verdict. "


def _less_sure(model: AnswerModel, uncertainty_g: Sequence[float]) -> AnswerModel:
    """Widen what is believed to be left by what is not known of the parts that were not mounted."""
    covariance = model.covariance.copy()
    for index, expanded in enumerate(uncertainty_g):
        for place in (2 * index, 2 * index + 1):
            covariance[place, place] += (expanded / 2.0) ** 2
    return replace(model, covariance=covariance)


def answer_so_far(state: JobState, crank: CrankStations | None = None) -> tuple[AnswerModel, str]:
    """Return how this crank answers, learnt from all runs and the cuts between them.

    Parameters
    ----------
    state : JobState
        With at least one run.
    crank : CrankStations | None
        Its stations; None takes those of the job.

    Returns
    -------
    tuple[AnswerModel, str]
        After the last run; and what most likely went wrong before it, empty when it is where it was expected.
    """
    from bench.computation.answer_model import AnswerModel
    from bench.computation.cut_trust import BY_GEOMETRY, MEASURED
    from bench.computation.sense_checks import check_sense
    from bench.computation.sense_checks_beliefs import Beliefs
    from bench.use_cases.crank_stations import crank_stations

    crank = crank if crank is not None else crank_stations(state.spec, state.stations)
    part = part_view(state.spec)
    noise_g = max(state.spec.tolerance.spin_uncertainty_g / 2.0, 0.01) * (part.noise() if part is not None else 1.0)
    trust = MEASURED if state.stations is not None and state.stations.measured else BY_GEOMETRY
    parts = tooling_parts(state)
    # what is seen of a part on the crank is free of the bobweight set's part already
    tooling = tuple(0j if part is not None else parts.get(name, 0j) for name in crank.planes)

    def fresh(stations: Sequence[Station]) -> AnswerModel:
        return replace(AnswerModel.start(stations, trust=trust, noise_g=noise_g), tooling=tooling)

    model = fresh(crank.stations)
    beliefs = Beliefs.start(model)
    done, sense = 0, ""
    for number, spin in enumerate(state.spins):
        reading = part.seen(shown_of(state, spin)) if part is not None else _reading(state, spin, crank.planes)
        cuts = [_cut_of(cut, crank) for cut in state.cuts[done : spin.after_cuts]]
        if cuts:
            model = model.after_cuts(cuts)
        if number == 0 or spin.mounted != state.spins[number - 1].mounted:
            # between runs with other parts mounted, what a part really carries stands beside what a cut did
            model, beliefs, sense = model.first_reading(reading), beliefs.first_reading(reading), ""
        else:
            check = check_sense(model, reading, beliefs)
            words = check.in_words(plane_names=crank.planes)
            sense = f"{words[:1].upper()}{words[1:]}." if check.alarm else ""
            if check.alarm:
                # nothing is learnt from an answer that makes no sense: what is left is taken as read, the rest anew
                model = fresh(model.stations)
                model, beliefs = model.first_reading(reading), Beliefs.start(model).first_reading(reading)
            else:
                beliefs = beliefs.after_run(model, reading)
                model, _ = model.update(reading)
        done = spin.after_cuts
    return model, sense


def _reading(state: JobState, spin: Spin, planes: tuple[str, ...]) -> list[complex]:
    """Return what a run showed, with what missing parts nominally carry."""
    shown = {amount.plane: amount for amount in spin.planes}
    carried = carried_by(state.spec, missing_parts(state.spec, spin) or ()) or ()
    more = {plane.name: one.excess_g for plane, one in zip(state.spec.planes, carried, strict=False)}
    return [
        cmath.rect(shown[name].amount_g, math.radians(shown[name].angle_deg)) + more.get(name, 0j) for name in planes
    ]


def _cut_of(cut: CutRecorded, crank: CrankStations) -> Cut:
    from bench.computation.cut_scatter import Cut

    station = crank.at(plane=cut.plane, station=cut.station).name
    return Cut(station, cut.angle_deg, cut.grams, cut.diameter_mm, cut.depth_mm, measured=cut.chips_g is not None)

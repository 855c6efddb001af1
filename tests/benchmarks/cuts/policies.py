"""Ways of working: habit, a plain share of what is shown, the planner, and one who knows the crank."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from cranks import GAP_DEG, HOLE_ROOM_G, LENGTH_M, MOST_HOLES, PITCH_M, RADIUS_M, Crank

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_plan import CutLimits
from bench.computation.cut_planner import plan_cuts
from bench.computation.cut_scatter import Cut
from bench.computation.cut_trust import BY_GEOMETRY, MEASURED, Trust
from bench.computation.cut_verdict import Standing, run_verdict
from bench.computation.stations import Station

MOST_SPINS = 40
ENDS = ("front", "rear")


@dataclass
class Outcome:
    """How one crank ended."""

    end: str
    spins: int
    holes: int
    true_g: float
    group: int
    distances: tuple[float, ...] = ()


def _outcome(crank: Crank, end: str, spins: int, distances: tuple[float, ...] = ()) -> Outcome:
    return Outcome(end, spins, max(len(h) for h in crank.holes), crank.worst_g(), crank.group, distances)


def _drill_by_hand(crank: Crank, end: int, amount: complex) -> None:
    """Drill where the reading points, as near as there is metal; much in several holes side by side."""
    middle = math.degrees(crank.middles_rad[end])
    off = (math.degrees(cmath.phase(amount)) - middle + 180) % 360 - 180
    half = crank.world.arc_deg / 2.0
    if abs(off) >= half + 90:
        return
    grams = abs(amount) * (1.0 if abs(off) <= half else math.cos(math.radians(abs(off) - half)))
    off = max(-half, min(half, off))
    count = max(1, math.ceil(grams / 35.0))
    for i in range(count):
        fan = max(-half, min(half, off + (i - (count - 1) / 2) * GAP_DEG))
        crank.drilled(end, angle_deg=(middle + fan) % 360, grams=grams / count)


def by_habit(crank: Crank, rng: np.random.Generator, *, guard_g: float = 0.0) -> Outcome:
    """One plane at a time, the heavier first, 60 to 85 percent of what is shown, mass guessed 15 percent off."""
    limit = min(crank.world.tolerance_g, 1.1 * crank.world.tolerance_g - guard_g)
    for spins in range(1, MOST_SPINS + 1):
        shown = crank.read()
        if all(abs(v) <= limit for v in shown):
            return _outcome(crank, "passed", spins)
        end = int(abs(shown[1]) > abs(shown[0]))
        share = rng.uniform(0.60, 0.85) * max(0.2, 1.0 + 0.15 * rng.standard_normal())
        _drill_by_hand(crank, end, share * shown[end])
        if not crank.can_be_finished():
            return _outcome(crank, "too far", spins)
    return _outcome(crank, "stuck", MOST_SPINS)


def by_habit_guarded(crank: Crank, rng: np.random.Generator) -> Outcome:
    """Habit that stops with the guard band the planner stops with: 1.645 deviations of a reading."""
    return by_habit(crank, rng, guard_g=1.645 * crank.world.noise_g)


def plain_share(crank: Crank, rng: np.random.Generator) -> Outcome:
    """Both planes, 90 percent of what is shown."""
    del rng
    limit = crank.world.tolerance_g
    for spins in range(1, MOST_SPINS + 1):
        shown = crank.read()
        if all(abs(v) <= limit for v in shown):
            return _outcome(crank, "passed", spins)
        for end in (0, 1):
            _drill_by_hand(crank, end, 0.9 * shown[end])
        if not crank.can_be_finished():
            return _outcome(crank, "too far", spins)
    return _outcome(crank, "stuck", MOST_SPINS)


def told_stations(crank: Crank) -> tuple[Station, ...]:
    """Return the stations as they would be entered: what geometry tells, not what is true."""
    return tuple(
        _station(crank, end, position, told_effect(end, crank.cross_told[end], position))
        for end in (0, 1)
        for position in (0, 1)
    )


def told_effect(end: int, cross: float, position: int) -> tuple[complex, complex]:
    """Return the effect of a hole by the lever rule: own 1 at the first position, the second one further in."""
    share = cross / (1 + cross) + position * PITCH_M / LENGTH_M
    near, far = complex((1 + cross) * (1 - share)), complex((1 + cross) * share)
    return (near, far) if end == 0 else (far, near)


def _station(crank: Crank, end: int, position: int, effect: tuple[complex, complex]) -> Station:
    return Station(
        f"{ENDS[end]} {position + 1}",
        end,
        effect,
        centre_deg=math.degrees(crank.middles_rad[end]),
        arc_deg=crank.world.arc_deg,
        most_g_per_hole=HOLE_ROOM_G,
        gap_deg=GAP_DEG,
    )


def planned(*, trust: Trust, limits: CutLimits | None = None, noise_g: float = 0.1) -> Callable[..., Outcome]:
    """Return the planner's way of working."""

    def work(crank: Crank, rng: np.random.Generator) -> Outcome:
        del rng
        model = AnswerModel.start(told_stations(crank), trust=trust, noise_g=noise_g)
        return _follow(crank, model, limits or CutLimits(most_holes=MOST_HOLES), exact=False)

    return work


def drill_planned(crank: Crank, cut: Cut) -> None:
    """Drill a planned cut at the place its station names."""
    end, position = cut.station.split()
    crank.drilled(ENDS.index(end), position=int(position) - 1, angle_deg=cut.angle_deg, grams=cut.grams)


def _follow(crank: Crank, model: AnswerModel, limits: CutLimits, *, exact: bool) -> Outcome:
    tolerance = [crank.world.tolerance_g] * 2
    distances: list[float] = []
    for spins in range(1, MOST_SPINS + 1):
        shown = crank.read(exact=exact)
        cut = bool(model.pending)
        if model.readings == 0:
            model = model.first_reading(shown)
        else:
            model, innovation = model.update(shown)
            if cut:
                distances.append(innovation.distance)
        if run_verdict(model, shown, tolerance_g=tolerance).whole is Standing.INSIDE:
            return _outcome(crank, "passed", spins, tuple(distances))
        plan = plan_cuts(model, tolerance_g=tolerance, limits=limits)
        if not plan.cuts and not plan.spin_again:
            return _outcome(crank, "stuck", spins, tuple(distances))
        for c in plan.cuts:
            drill_planned(crank, c)
        model = model.after_cuts(plan.cuts)
        if plan.cuts and not crank.can_be_finished():
            return _outcome(crank, "too far", spins, tuple(distances))
    return _outcome(crank, "stuck", MOST_SPINS, tuple(distances))


KNOWS_IT = Trust(own=1e-4, turned_deg=0.01, cross=1e-4, cross_turned=1e-4, shared=0.0, doubt=1.0)


def oracle(crank: Crank, rng: np.random.Generator) -> Outcome:
    """One who knows the true answer of this crank and reads without noise: a floor, not reachable."""
    del rng
    true: list[Station] = []
    for end in (0, 1):
        for position in (0, 1):
            moment = crank.effect(end, position) / RADIUS_M
            true.append(_station(crank, end, position, (complex(*moment[:2]), complex(*moment[2:]))))
    model = AnswerModel.start(true, trust=KNOWS_IT, noise_g=0.01)
    return _follow(crank, model, CutLimits(most_holes=MOST_HOLES), exact=True)


POLICIES: dict[str, Callable[..., Outcome]] = {
    "habit": by_habit,
    "plain 90 %": plain_share,
    "planner": planned(trust=BY_GEOMETRY),
    "planner, one plane a spin": planned(trust=BY_GEOMETRY, limits=CutLimits(most_holes=MOST_HOLES, one_plane=True)),
    "oracle": oracle,
}
MEASURED_PLANNER = planned(trust=MEASURED)
KNOWING_CROSSTALK = planned(trust=replace(BY_GEOMETRY, cross=0.02, cross_turned=0.01, planned=None))

"""Ways of working: habit, a plain share of what is shown, the planner, and one who knows the crank."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from cranks import GAP_DEG, HOLE_ROOM_G, MOST_HOLES, RADIUS_M, Crank

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_planner import CutLimits, plan_cuts
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


def by_habit(crank: Crank, rng: np.random.Generator) -> Outcome:
    """One plane at a time, the heavier first, 60 to 85 percent of what is shown, mass guessed 15 percent off."""
    limit = crank.world.tolerance_g
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


def told_stations(crank: Crank, *, own: float = 1.0) -> tuple[Station, ...]:
    """Return the stations as they would be entered: what geometry tells, not what is true."""
    middles = [math.degrees(m) for m in crank.middles_rad]
    effects = [(own, own * crank.cross_told[0]), (own * crank.cross_told[1], own)]
    return tuple(
        Station(
            ENDS[end],
            end,
            tuple(complex(e) for e in effects[end]),
            centre_deg=middles[end],
            arc_deg=crank.world.arc_deg,
            most_g_per_hole=HOLE_ROOM_G,
            gap_deg=GAP_DEG,
        )
        for end in (0, 1)
    )


def planned(*, trust: Trust, limits: CutLimits | None = None, noise_g: float = 0.1) -> Callable[..., Outcome]:
    """Return the planner's way of working."""

    def work(crank: Crank, rng: np.random.Generator) -> Outcome:
        del rng
        model = AnswerModel.start(told_stations(crank), trust=trust, noise_g=noise_g)
        return _follow(crank, model, limits or CutLimits(most_holes=MOST_HOLES), exact=False)

    return work


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
            crank.drilled(ENDS.index(c.station), angle_deg=c.angle_deg, grams=c.grams)
        model = model.after_cuts(plan.cuts)
        if plan.cuts and not crank.can_be_finished():
            return _outcome(crank, "too far", spins, tuple(distances))
    return _outcome(crank, "stuck", MOST_SPINS, tuple(distances))


KNOWS_IT = Trust(own=1e-4, turned_deg=0.01, cross=1e-4, cross_turned=1e-4, shared=0.0, doubt=1.0)


def oracle(crank: Crank, rng: np.random.Generator) -> Outcome:
    """One who knows the true answer of this crank and reads without noise: a floor, not reachable."""
    del rng
    told = told_stations(crank)
    true = []
    for end, station in enumerate(told):
        moment = crank.effect(end) / RADIUS_M
        true.append(
            Station(
                station.name,
                end,
                (complex(moment[0], moment[1]), complex(moment[2], moment[3])),
                centre_deg=station.centre_deg,
                arc_deg=station.arc_deg,
                most_g_per_hole=HOLE_ROOM_G,
                gap_deg=GAP_DEG,
            )
        )
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

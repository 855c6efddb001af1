"""Simulated mishaps at a chosen cut, and whether the sense check sees and names them.

Beside what is seen stands what an observer could see at best who knows how these cranks are drawn: the chi-square of
the innovation with the covariance the cranks really have, and the most powerful test for these mishaps with the same.

python tests/benchmarks/cuts/mishaps.py --cranks 400 --seed 11
"""

from __future__ import annotations

import argparse
import copy
import functools
import json
import math
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parent))

from cranks import RADIUS_M, Crank, World, draw_crank
from policies import drill_planned, told_stations

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_plan import CutLimits
from bench.computation.cut_planner import plan_cuts
from bench.computation.cut_scatter import Cut
from bench.computation.cut_trust import BY_GEOMETRY, Trust
from bench.computation.cut_verdict import Standing, run_verdict
from bench.computation.sense_checks import Explanation, NextRun
from bench.computation.sense_checks_alarm import ExpectedRuns
from bench.computation.sense_checks_beliefs import Beliefs
from bench.computation.sense_checks_causes import Cause, Suspicion, suspicions
from run import SCENES

MOST_STOPS = 3
SAME_PLACE_DEG = 5.0
SLIPPED = "bobweight slipped 3 g"
FALSE_ALARMS = 0.01  # what the observer who knows the cranks is held to
FAR_OUT = 13.2767  # chi-square of four, passed once in a hundred times
MISHAPS: dict[str, Cause | None] = {
    "nothing": None,
    "mirrored sense": Cause.MIRRORED,
    "mirrored in the arc": Cause.MIRRORED_IN_ARC,
    "180 deg": Cause.OPPOSITE,
    "30 deg off": Cause.ANGLE_OFF,
    "10 deg off": Cause.ANGLE_OFF,
    "mass doubled, whole end": Cause.TWICE,
    "mass doubled, one hole": Cause.TWICE_ONE_HOLE,
    "wrong end drilled": Cause.OTHER_PLANE,
    SLIPPED: Cause.SLIPPED,
}
ASKED = {  # detection at the first, second and third cut that is to be reached within two points
    "mirrored sense": (95, 95, 95),
    "180 deg": (100, 100, 100),
    "30 deg off": (100, 100, 100),
    "10 deg off": (87, 86, 62),
    "mass doubled, whole end": (99, 100, 100),
    "wrong end drilled": (100, 100, 99),
    SLIPPED: (2, 51, 100),
}


def gone_wrong(name: str, cuts: Sequence[Cut], crank: Crank, rng: np.random.Generator) -> list[Cut]:
    """Return what is really drilled: the mishap hits the end with the largest hole."""
    largest = max(cuts, key=lambda c: c.grams)
    end = largest.station.split()[0]
    middle = math.degrees(crank.middles_rad[0 if end == "front" else 1])
    side = rng.choice([-1.0, 1.0])
    done = []
    for c in cuts:
        if not c.station.startswith(end):
            done.append(c)
        elif name == "mirrored sense":
            done.append(replace(c, angle_deg=-c.angle_deg))
        elif name == "mirrored in the arc":
            done.append(replace(c, angle_deg=2 * middle - c.angle_deg))
        elif name == "180 deg":
            done.append(replace(c, angle_deg=c.angle_deg + 180))
        elif name in {"30 deg off", "10 deg off"}:
            done.append(replace(c, angle_deg=c.angle_deg + side * float(name.split(maxsplit=1)[0])))
        elif name == "mass doubled, whole end" or (name == "mass doubled, one hole" and c is largest):
            done.append(replace(c, grams=2 * c.grams))
        elif name == "wrong end drilled":
            done.append(replace(c, station=("rear" if end == "front" else "front") + c.station[len(end) :]))
        else:
            done.append(c)
    return done


def slip(crank: Crank, rng: np.random.Generator, grams: float = 3.0) -> None:
    """Move a bobweight: grams at the correction radius, somewhere between the planes."""
    angle, share = rng.uniform(0, 2 * math.pi), rng.uniform()
    moment = grams / 1000.0 * RADIUS_M * np.array([math.cos(angle), math.sin(angle)])
    crank.out_kg_m += np.concatenate([moment * (1 - share), moment * share])


@dataclass(frozen=True)
class Stop:
    """A crank before a cut, and what is planned for it."""

    number: int
    crank: Crank
    model: AnswerModel
    cuts: tuple[Cut, ...]
    beliefs: Beliefs
    knowing: Beliefs  # the same runs and cuts, taken in by one who knows how the cranks are drawn


AS_DRAWN = Trust(
    own=math.hypot(World.own, World.own_position),
    turned_deg=math.hypot(World.own_turned_deg, World.phase_deg),
    cross=(World.cross_to - World.cross_from) / math.sqrt(12.0),
    cross_turned=0.005,
    shared=World.own**2 / (World.own**2 + World.own_position**2),
    doubt=1.0,
)


def stops(seed: int, number: int, world: World | None = None) -> list[Stop]:
    """Work on a crank and return it before its first three cuts, as long as it is not done."""
    world = world if world is not None else World()
    crank = draw_crank(world, seed=seed, number=number)
    tolerance = [world.tolerance_g] * 2
    first = crank.read()
    fresh, drawn = (AnswerModel.start(told_stations(crank), trust=t) for t in (BY_GEOMETRY, AS_DRAWN))
    model, beliefs = fresh.first_reading(first), Beliefs.start(fresh).first_reading(first)
    knowing = Beliefs.alone(drawn.first_reading(first))
    found: list[Stop] = []
    while len(found) < MOST_STOPS:
        plan = plan_cuts(model, tolerance_g=tolerance, limits=CutLimits())
        if not plan.cuts:
            break
        found.append(Stop(number, copy.deepcopy(crank), model, plan.cuts, beliefs, knowing))
        for c in plan.cuts:
            drill_planned(crank, c)
        shown = crank.read()
        model = model.after_cuts(plan.cuts)
        beliefs, knowing = beliefs.after_run(model, shown), knowing.after_run(model, shown)
        model, _ = model.update(shown)
        if run_verdict(model, shown, tolerance_g=tolerance).whole is Standing.INSIDE:
            break
    return found


@dataclass(frozen=True)
class Checked:
    """What was said of a run, whether its cause was true, and what one who knows how the cranks are drawn would see."""

    alarm: bool
    called: str
    named: bool
    spin_first: bool
    distance: float
    at_best: bool


WITHOUT_CUT = "slipped 3 g, run without a cut"


def checked_stop(stop: Stop, *, seed: int) -> dict[str, Checked]:
    """Let every mishap happen at a stop, and check the run that follows."""
    cut = stop.model.after_cuts(stop.cuts)
    found = {}
    for model, names in ((cut, tuple(MISHAPS)), (stop.model, (WITHOUT_CUT,))):
        ours, knowing = NextRun.of(model, stop.beliefs), stop.knowing.before_run(model)
        best = ExpectedRuns.of(knowing, suspicions(knowing.models[0]))
        for name in names:
            shown = run_after(name, stop, seed=seed)
            far = knowing.models[0].update(shown)[1]
            at_best = best.chance_of_looking_wrong(knowing.models[0].freed(shown)) if model.pending else far.chance
            said = ours.check(shown)
            first = said.explanations[0] if said.alarm else None
            found[name] = Checked(
                said.alarm,
                first.cause.value if first else "",
                bool(first and is_right(name, stop, first, ours.expected.found, seed=seed)),
                bool(first and (said.spin_first or first.cause is Cause.SLIPPED)),
                far.distance,
                at_best < FALSE_ALARMS,
            )
    return found


def run_after(name: str, stop: Stop, *, seed: int) -> NDArray[np.complex128]:
    """Return what the machine shows once the cuts of a stop were made with a mishap."""
    crank = copy.deepcopy(stop.crank)
    rng = np.random.default_rng([seed, stop.number, 5])
    if name != WITHOUT_CUT:
        for c in gone_wrong(name, stop.cuts, crank, rng):
            drill_planned(crank, c)
    if name in {SLIPPED, WITHOUT_CUT}:
        slip(crank, rng)
    return crank.read()


def right_names(name: str, cuts: Sequence[Cut]) -> set[Cause]:
    """Return the causes that name a mishap rightly: with one hole at the end, its whole end is that hole."""
    cause = Cause.SLIPPED if name == WITHOUT_CUT else MISHAPS[name]
    if cause is None:
        return set()
    end = max(cuts, key=lambda c: c.grams).station.split(maxsplit=1)[0]
    alone = sum(c.station.startswith(end) for c in cuts) == 1
    return {Cause.TWICE, Cause.TWICE_ONE_HOLE} if cause is Cause.TWICE_ONE_HOLE and alone else {cause}


def is_right(name: str, stop: Stop, explanation: Explanation, considered: Sequence[Suspicion], *, seed: int) -> bool:
    """Tell whether an explanation is true: a mirrored hole may as well be one so many degrees off, and either is so."""
    if explanation.cause in right_names(name, stop.cuts):
        return True
    if name in {SLIPPED, WITHOUT_CUT} or MISHAPS[name] is None:
        return False
    really = gone_wrong(name, stop.cuts, stop.crank, np.random.default_rng([seed, stop.number, 5]))
    return any(
        s.cause is explanation.cause
        and s.plane_index == explanation.plane_index
        and s.by_deg == explanation.by_deg
        and all(
            a.station.split()[0] == b.station.split()[0]
            and abs(a.grams - b.grams) <= 0.1 * b.grams
            and abs((a.angle_deg - b.angle_deg + 180.0) % 360.0 - 180.0) <= SAME_PLACE_DEG
            for a, b in zip(s.cuts, really, strict=True)
        )
        for s in considered
    )


def judged(every: Sequence[Checked], fair: float) -> dict[str, Any]:
    """Return how often a mishap is seen and rightly named."""
    of, alarms = max(1, len(every)), [c for c in every if c.alarm]
    return {
        "of": len(every),
        "seen": len(alarms) / of,
        "limit_distance": sum(c.distance > FAR_OUT for c in every) / of,
        "limit_fair": sum(c.distance > fair for c in every) / of,
        "limit": sum(c.at_best for c in every) / of,
        "named_of_seen": sum(c.named for c in alarms) / max(1, len(alarms)),
        "spin_first_of_seen": sum(c.spin_first for c in alarms) / max(1, len(alarms)),
        "called": dict(Counter(c.called for c in alarms).most_common()),
    }


HEAD = (
    "| what went wrong | seen after cut 1 / 2 / 3 | chi-square of one who knows | the same at 1 % false alarms "
    "| any test of one who knows | asked | rightly named of those seen | asked to spin without a cut, of those seen |\n"
    "|---|---|---|---|---|---|---|---|"
)


def line(name: str, rows: Sequence[dict[str, Any]], wanted: str, *, named: bool) -> str:
    """Return a row of the table."""
    kinds = ("seen", "limit_distance", "limit_fair", "limit")
    seen = " | ".join(" / ".join(f"{r[k]:.1%}" for r in rows) for k in kinds)
    right, spin = (" / ".join(f"{r[k]:.0%}" for r in rows) for k in ("named_of_seen", "spin_first_of_seen"))
    return f"| {name} | {seen} | {wanted} | {right if named else '-'} | {spin} |"


def rightly_named(results: Mapping[str, Sequence[Mapping[str, Any]]]) -> float:
    """Return the share of all alarms of all mishaps at which the likeliest cause was the true one."""
    rows = [row for name, cause in MISHAPS.items() if cause is not None for row in results[name]]
    seen = [row["seen"] * row["of"] for row in rows]
    named = [row["named_of_seen"] * n for row, n in zip(rows, seen, strict=True)]
    return float(sum(named) / max(1.0, sum(seen)))


def checked_crank(number: int, *, seed: int, world: World | None = None) -> list[dict[str, Checked]]:
    """Return what was said at a crank's first, second and third cut, mishap by mishap."""
    return [checked_stop(stop, seed=seed) for stop in stops(seed, number, world)]


def by_cut(cranks: int, seed: int, world: World | None = None) -> list[list[dict[str, Checked]]]:
    """Return the same of all cranks, cut by cut; on all processors, each crank drawn from its own number."""
    found: list[list[dict[str, Checked]]] = [[] for _ in range(MOST_STOPS)]
    with ProcessPoolExecutor() as pool:
        work = functools.partial(checked_crank, seed=seed, world=world)
        for number, crank in enumerate(pool.map(work, range(cranks), chunksize=5), 1):
            for place, stop in enumerate(crank):
                found[place].append(stop)
            if number % 200 == 0:
                print(f"{number} of {cranks} cranks", file=sys.stderr, flush=True)
    return found


def table(cranks: Sequence[Sequence[Mapping[str, Checked]]]) -> dict[str, list[dict[str, Any]]]:
    """Return mishaps x cuts, judged."""
    fair = [
        float(np.quantile([stop["nothing"].distance for stop in at], 1.0 - FALSE_ALARMS)) if at else FAR_OUT
        for at in cranks
    ]
    return {
        name: [judged([stop[name] for stop in at], far) for at, far in zip(cranks, fair, strict=True)]
        for name in (*MISHAPS, WITHOUT_CUT)
    }


def false_alarms(cranks: int, seed: int) -> dict[str, list[float]]:
    """Print and return how often nothing went wrong and something was said, on cranks, drills and machines of all kinds."""
    found: dict[str, list[float]] = {}
    print("\n| cranks, drill, machine | false alarms after cut 1 / 2 / 3 |\n|---|---|")
    for scene, (world, _) in SCENES.items():
        if world.cross_known is None:
            rows = table(by_cut(cranks, seed, world))["nothing"]
            found[scene] = [row["seen"] for row in rows]
            print(f"| {scene} | {' / '.join(f'{share:.1%}' for share in found[scene])} |", flush=True)
    return found


def main(arguments: Sequence[str] | None = None) -> int:
    """Print detection and naming per mishap and cut."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cranks", type=int, default=400)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--scenes", action="store_true", help="then false alarms in all scenes of run.py")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args(arguments)
    results: dict[str, Any] = table(by_cut(asked.cranks, asked.seed))
    print(HEAD, flush=True)
    for name, cause in MISHAPS.items():
        wanted = " / ".join(str(a) for a in ASKED[name]) if name in ASKED else "-"
        print(line(name, results[name], wanted, named=cause is not None), flush=True)
    print(f"\nof all that was seen, rightly named: {rightly_named(results):.1%}\n", flush=True)
    print(line(WITHOUT_CUT, results[WITHOUT_CUT], "100 / 100 / 100", named=True), flush=True)
    if asked.scenes:
        results["false alarms"] = false_alarms(asked.cranks, asked.seed)
    if asked.json:
        asked.json.write_text(json.dumps(results, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

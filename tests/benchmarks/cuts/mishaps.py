"""Simulated mishaps at a chosen cut, and whether the sense check sees and names them.

python tests/benchmarks/cuts/mishaps.py --cranks 400 --seed 11
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from cranks import RADIUS_M, Crank, World, draw_crank
from policies import drill_planned, told_stations

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_planner import CutLimits, plan_cuts
from bench.computation.cut_scatter import Cut
from bench.computation.cut_trust import BY_GEOMETRY
from bench.computation.cut_verdict import Standing, run_verdict
from bench.computation.sense_checks import SenseCheck, check_sense
from bench.computation.sense_checks_causes import Cause

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
    "bobweight slipped 3 g": Cause.SLIPPED,
}
ASKED = {  # detection at the first, second and third cut that is to be reached within two points
    "mirrored sense": (95, 95, 95),
    "180 deg": (100, 100, 100),
    "30 deg off": (100, 100, 100),
    "10 deg off": (87, 86, 62),
    "mass doubled, whole end": (99, 100, 100),
    "wrong end drilled": (100, 100, 99),
    "bobweight slipped 3 g": (2, 51, 100),
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


def check_at(
    name: str, *, stop: int, seed: int, number: int, without_cut: bool = False
) -> tuple[SenseCheck, Crank] | None:
    """Work on a crank up to a stop, let the mishap happen there, and check the run that follows."""
    world = World()
    crank = draw_crank(world, seed=seed, number=number)
    rng = np.random.default_rng([seed, number, 5])
    tolerance = [world.tolerance_g] * 2
    model = AnswerModel.start(told_stations(crank), trust=BY_GEOMETRY)
    model = model.first_reading(crank.read())
    for now in range(1, stop + 1):
        if without_cut and now == stop:
            slip(crank, rng)
            return check_sense(model, crank.read()), crank
        plan = plan_cuts(model, tolerance_g=tolerance, limits=CutLimits())
        if not plan.cuts:
            return None
        cuts = gone_wrong(name, plan.cuts, crank, rng) if now == stop else plan.cuts
        for c in cuts:
            drill_planned(crank, c)
        if now == stop and name == "bobweight slipped 3 g":
            slip(crank, rng)
        model = model.after_cuts(plan.cuts)
        shown = crank.read()
        if now == stop:
            return check_sense(model, shown), crank
        model, _ = model.update(shown)
        if run_verdict(model, shown, tolerance_g=tolerance).whole is Standing.INSIDE:
            return None
    return None


def judged(name: str, *, stop: int, cranks: int, seed: int, without_cut: bool = False) -> dict[str, object]:
    """Return how often a mishap is seen and rightly named."""
    seen = named = total = 0
    called: Counter[str] = Counter()
    for number in range(cranks):
        found = check_at(name, stop=stop, seed=seed, number=number, without_cut=without_cut)
        if found is None:
            continue
        total += 1
        if found[0].alarm:
            seen += 1
            first = found[0].explanations[0].cause
            called[first.value] += 1
            named += first is MISHAPS[name]
    return {"of": total, "seen": seen / max(1, total), "named_of_seen": named / max(1, seen), "called": dict(called)}


def main(arguments: Sequence[str] | None = None) -> int:
    """Print detection and naming per mishap and cut."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cranks", type=int, default=400)
    parser.add_argument("--seed", type=int, default=11)
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args(arguments)
    results: dict[str, list[dict[str, object]]] = {}
    for name in MISHAPS:
        for stop in (1, 2, 3):
            r = judged(name, stop=stop, cranks=asked.cranks, seed=asked.seed)
            results.setdefault(name, []).append(r)
            print(
                f"{name:26s} cut {stop}: seen {r['seen']:6.1%} of {r['of']}, named {r['named_of_seen']:6.1%}  "
                f"(asked {ASKED.get(name, ('-',) * 3)[stop - 1]})  {r['called']}",
                flush=True,
            )
    r = judged("bobweight slipped 3 g", stop=2, cranks=asked.cranks, seed=asked.seed, without_cut=True)
    results["bobweight slipped 3 g, run without a cut"] = [r]
    print(
        f"slipped, run without a cut: seen {r['seen']:.1%} of {r['of']}, named {r['named_of_seen']:.1%} {r['called']}"
    )
    if asked.json:
        asked.json.write_text(json.dumps(results, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

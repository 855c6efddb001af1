"""Compare ways of cutting over the same seeded cranks and print a table, and JSON when asked.

python tests/benchmarks/cuts/run.py --cranks 2000 --seed 7 --json out.json
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from cranks import World, draw_crank
from policies import KNOWING_CROSSTALK, MEASURED_PLANNER, POLICIES, Outcome, by_habit_guarded

SCENES: dict[str, tuple[World, tuple[str, ...]]] = {
    "1 g": (World(), (*POLICIES, "habit, guarded")),
    "0.5 g": (World(tolerance_g=0.5), (*POLICIES, "habit, guarded")),
    "1 g, measured 5 %": (
        World(own=0.045, own_position=0.02, own_turned_deg=1.5, cross_known=0.02),
        ("habit", "measured", "oracle"),
    ),
    "1 g, prior really 25 %": (World(own=0.245), ("habit", "planner", "oracle")),
    "1 g, crosstalk known to 2 %": (World(cross_known=0.02), ("habit", "knowing the crosstalk")),
    "1 g, noise 0.05 g": (World(noise_g=0.05), ("habit", "planner")),
    "1 g, noise 0.2 g": (World(noise_g=0.2), ("habit", "planner")),
    "1 g, gain 3 %, 1.5 deg": (World(gain=0.03, phase_deg=1.5), ("habit", "planner")),
    "1 g, noise 0.4 g": (World(noise_g=0.4), ("habit", "planner")),
    "1 g, crosstalk to 50 %": (World(cross_to=0.5), ("habit", "planner")),
    "1 g, arcs 80 deg": (World(arc_deg=80.0), ("habit", "planner")),
    "1 g, drill 6 %, 3 deg": (World(drill_share=0.06, drill_deg=3.0), ("habit", "planner")),
}
WAYS: dict[str, Callable[..., Outcome]] = {
    **POLICIES,
    "measured": MEASURED_PLANNER,
    "knowing the crosstalk": KNOWING_CROSSTALK,
    "habit, guarded": by_habit_guarded,
}


def judge(world: World, way: str, *, cranks: int, seed: int) -> list[Outcome]:
    """Work on cranks 0 to `cranks` of a seed."""
    outcomes = []
    for number in range(cranks):
        crank = draw_crank(world, seed=seed, number=number)
        outcomes.append(WAYS[way](crank, np.random.default_rng([seed, number, 99])))
    return outcomes


def interval(count: int, of: int) -> tuple[float, float]:
    """Return Wilson's 95 % interval of a share."""
    z, share = 1.96, count / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return max(0.0, middle - half), min(1.0, middle + half)


def summary(outcomes: Sequence[Outcome], tolerance_g: float) -> dict[str, Any]:
    """Return the figures of one way of working."""
    passed = [o for o in outcomes if o.end == "passed"]
    far = [o for o in outcomes if o.end == "too far"]
    spins = sorted(o.spins for o in passed)
    total = len(outcomes)
    low, high = interval(len(far), total)
    groups = {
        str(g): sum(o.group == g for o in far) / max(1, sum(o.group == g for o in outcomes)) for g in (0, 90, 180)
    }
    return {
        "cranks": total,
        "spins": {
            "mean": float(np.mean(spins)),
            "median": _rank(spins, 0.5),
            "p90": _rank(spins, 0.9),
            "p99": _rank(spins, 0.99),
        },
        "too_far": len(far) / total,
        "too_far_95": [low, high],
        "too_far_by_group": groups,
        "stuck": sum(o.end == "stuck" for o in outcomes) / total,
        "holes_worst_plane": float(np.mean([o.holes for o in outcomes])),
        "over_4_holes": sum(o.holes > 4 for o in outcomes) / total,
        "passes_beyond_1_1": sum(not o.true_g <= 1.1 * tolerance_g for o in passed) / max(1, len(passed)),
        "alarms": [
            sum(len(o.distances) > i and not o.distances[i] <= 13.2767 for o in outcomes)
            / max(1, sum(len(o.distances) > i for o in outcomes))
            for i in range(3)
        ],
    }


def _rank(ordered: Sequence[int], share: float) -> int:
    return ordered[min(len(ordered) - 1, math.ceil(share * len(ordered)) - 1)]


def line(scene: str, way: str, s: dict[str, Any]) -> str:
    """Return a row of the table."""
    spins, by = s["spins"], s["too_far_by_group"]
    return (
        f"| {scene} | {way} | {spins['median']}/{spins['p90']}/{spins['p99']} | {spins['mean']:.2f} "
        f"| {s['too_far']:.2%} ({s['too_far_95'][0]:.1%}-{s['too_far_95'][1]:.1%}) "
        f"| {by['0']:.1%} / {by['90']:.1%} / {by['180']:.1%} | {s['stuck']:.2%} "
        f"| {s['holes_worst_plane']:.1f} ({s['over_4_holes']:.0%} > 4) | {s['passes_beyond_1_1']:.2%} |"
    )


HEAD = (
    "| cranks | way of working | spins median/p90/p99 | mean | over-drilled (95 %) | by group 0/90/180 deg | stuck "
    "| holes, worse plane | passes truly beyond 1.1 x |\n|---|---|---|---|---|---|---|---|---|"
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the comparison."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cranks", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--scene", action="append", choices=list(SCENES))
    parser.add_argument("--way", action="append", choices=list(WAYS))
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args(arguments)
    print(HEAD, flush=True)
    found: dict[str, dict[str, Any]] = {}
    for scene in asked.scene or SCENES:
        world, ways = SCENES[scene]
        for way in ways:
            if asked.way and way not in asked.way:
                continue
            s = summary(judge(world, way, cranks=asked.cranks, seed=asked.seed), world.tolerance_g)
            found.setdefault(scene, {})[way] = s
            print(line(scene, way, s), flush=True)
    if asked.json:
        asked.json.write_text(json.dumps({"seed": asked.seed, "scenes": found}, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

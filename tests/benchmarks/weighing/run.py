"""Judge the weigh machine beside plain rules, and print the table of goals.

python tests/benchmarks/weighing/run.py --count 5000 --jobs 20 --folder figures
python tests/benchmarks/weighing/run.py --folder figures --table

What was played is kept in the folder, so that a run can be ended and goes on where it stood. The default seed is for judging: the machine
was tuned on others.
"""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from figures import our_row, plain_row, sheet_row
from goals import goal_lines, rule_lines
from single_placements import Outcome, play_bench
from weighing_traces import PER_SCALE, Placement, bench
from whole_sheets import SCENARIOS, JobPlay, Kept, Sheet

CONDITIONS = ("C1", "C2", "C3", "C4", "C5", "C6", "C7", "C8", "C9", "C10", "C11", "C12")
RATES = (("C1", 4.0), ("C1", 10.0), ("C2", 4.0), ("C2", 10.0), ("C6", 4.0), ("C6", 10.0))
RULES = (
    "five equal lines",
    "steady word, fair",
    "steady word, early",
    "5 s wait",
    "1 s within 1 d",
    "all-knowing, 1 s",
)
SHARES = (0.1, 0.15, 0.2, 0.4, 0.6, 0.8, 1.0)
"""A run that is ended early has played the same share of everything."""
RARE = {"quiet": 2, "typical": 2, "mishaps": 2, "drift": 4, "little drift": 4}
"""Scenarios whose goal is about rare events are played this many times as often."""


class Played:
    """What was played so far: a file of lines for each condition and scenario."""

    def __init__(self, folder: Path, seed: int) -> None:
        self.folder = folder
        self.seed = seed
        folder.mkdir(parents=True, exist_ok=True)

    def lines(self, key: str) -> list[dict[str, Any]]:
        """Return what is known of a condition or scenario."""
        path = self.folder / f"{key}.jsonl"
        return [json.loads(x) for x in path.read_text().splitlines()] if path.exists() else []

    def add(self, key: str, rows: list[dict[str, Any]]) -> None:
        """Keep some more."""
        with (self.folder / f"{key}.jsonl").open("a") as out:
            out.writelines(json.dumps(row) + "\n" for row in rows)

    def placements(self, key: str, name: str, rate_hz: float | None, *, count: int) -> None:
        """Play a condition until there are so many placements."""
        begin = len(self.lines(key)) // PER_SCALE
        for number in range(begin, -(-count // PER_SCALE)):
            made = bench(name, self.seed, number, rate_hz=rate_hz)
            outcomes = play_bench(made, seed=self.seed, number=number, plain=rate_hz is None)
            self.add(key, [_slim(o) for o in outcomes])

    def outcomes(self, key: str) -> list[Outcome]:
        """Return the placements of a condition."""
        return [Outcome(**row | {"truth": Placement(**row["truth"])}) for row in self.lines(key)]

    def jobs(self, name: str, *, count: int) -> None:
        """Play a scenario until there are so many jobs."""
        for number in range(len(self.lines(name)), count):
            sheet = JobPlay(SCENARIOS[name], self.seed * 1000 + number).play()
            sheet.log.clear()
            self.add(name, [json.loads(json.dumps(asdict(sheet), default=str))])

    def sheets(self, name: str) -> list[Sheet]:
        """Return the jobs of a scenario."""
        return [Sheet(**row | {"kept": {k: Kept.read(v) for k, v in row["kept"].items()}}) for row in self.lines(name)]


def _slim(outcome: Outcome) -> dict[str, Any]:
    row = asdict(outcome)
    row["truth"]["members_g"] = ()
    row["words"] = row["words"][:2]
    return json.loads(json.dumps(row), parse_float=lambda x: round(float(x), 4))  # type: ignore[no-any-return]


def figures_of(played: Played) -> dict[str, Any]:
    """Return all figures from what was played."""
    figures: dict[str, Any] = {}
    for name in (*CONDITIONS, *(f"{n} at {r:g} a second" for n, r in RATES)):
        outcomes = played.outcomes(name)
        if outcomes:
            figures[name] = our_row(outcomes)
            figures[f"rules {name}"] = {rule: plain_row(outcomes, rule) for rule in RULES if " at " not in name}
    for name in SCENARIOS:
        sheets = played.sheets(name)
        if sheets:
            figures[name] = sheet_row(sheets)
    return figures


def main() -> int:
    """Judge and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=5000, help="placements a condition")
    parser.add_argument("--jobs", type=int, default=20, help="jobs a scenario, 56 cells each")
    parser.add_argument("--seed", type=int, default=20261126, help="chance; never tune on the default")
    parser.add_argument("--folder", type=Path, default=Path("weighing-figures"), help="where what was played is kept")
    parser.add_argument("--table", action="store_true", help="play nothing, print what is known")
    args = parser.parse_args()
    played = Played(args.folder, args.seed)
    if not args.table:
        for share in SHARES:
            for name in SCENARIOS:
                played.jobs(name, count=round(share * args.jobs * RARE.get(name, 1)))
            for name in CONDITIONS:
                played.placements(name, name, None, count=round(share * args.count))
            for name, rate in RATES:
                played.placements(f"{name} at {rate:g} a second", name, rate, count=round(share * args.count))
            print(f"{share:.0%} played", file=sys.stderr, flush=True)
    figures = figures_of(played)
    (args.folder / "figures.json").write_text(json.dumps(figures, indent=1))
    print("\n".join([*goal_lines(figures), "", *rule_lines(figures, CONDITIONS, RULES)]))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

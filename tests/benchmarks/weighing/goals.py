"""The goals of weighing, and whether the figures reach them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

Figures = Mapping[str, Mapping[str, Any]]
WORDS = {
    "p50 s": "delay p50",
    "p99 s": "delay p99",
    "hand p50 s": "hand off to tone p50",
    "missed": "not taken",
    "silent miss": "not taken and not told why in 8 s",
}
POOL = {"C1": 25, "C2": 35, "C11": 10, "C6": 10, "C5": 5, "C7": 5, "C8": 5, "C9": 5}
"""Shares of a realistic mix. [%]"""


@dataclass(frozen=True, slots=True)
class Goal:
    """One number to reach: a figure of a condition or scenario, at most or at least."""

    name: str
    where: str
    figure: str
    most: float | None = None
    least: float | None = None

    def line(self, figures: Figures) -> str:
        """Return a row of the table."""
        row = figures.get(self.where, {})
        found = row.get(self.figure)
        wanted = f"≤ {self.most:g}" if self.most is not None else f"≥ {self.least:g}"
        label = WORDS.get(self.figure, self.figure)
        count = row.get("placements") or row.get("cells") or 0
        if found is None:
            return f"| {self.name} | {self.where}: {label} | {wanted} | not played | |"
        met = found <= self.most if self.most is not None else found >= (self.least or 0.0)
        return f"| {self.name} | {self.where}: {label} | {wanted} | {found:g} of {count:,} | {'yes' if met else 'NO'} |"


def goals() -> list[Goal]:
    """Return every goal that is one number of one condition or scenario."""
    d1, d2, d5 = "final >1 d", "final >2 d", "final >5 d"
    out = [
        Goal("G1", "C1", "p50 s", most=1.0),
        Goal("G1", "C1", "p99 s", most=3.0),
        Goal("G1", "C1", d1, most=1),
        Goal("G1", "C1", "missed", most=0),
        Goal("G2", "C2", "p50 s", most=1.5),
        Goal("G2", "C2", "p99 s", most=6.0),
        Goal("G2", "C2", d2, most=60),
        Goal("G2", "C2", d5, most=10),
        Goal("beyond", "C2", d2, most=30),
        Goal("beyond", "C2", d5, most=5),
        Goal("G3", "C6", "p50 s", most=0.9),
        Goal("G3", "C6", d2, most=5),
        Goal("G4", "C7", d2, most=2),
        Goal("G4", "C8", d2, most=2),
        Goal("G5", "C9", d2, most=10),
        Goal("G5", "C9", "missed", most=0),
        Goal("G6", "C10", d2, most=30),
        Goal("G7", "C5", d5, most=400),
        Goal("beyond", "C5", d5, most=200),
        Goal("beyond", "C12", d2, most=130),
        Goal("beyond", "C12", d5, most=15),
        Goal("G8", "C3", "green >2 d", most=30),
        Goal("G8", "C4", "green >2 d", most=30),
        Goal("beyond", "C3", "silent miss", most=0),
        Goal("beyond", "C4", "silent miss", most=0),
    ]
    for where in ("C1", "C2", "C6", "C7", "C9", "C10", "C11"):
        out += [Goal("G9", where, "within U %", least=95), Goal("G9", where, "within 1.5 U %", least=99.5)]
    out += [Goal("G10", "C1", "hand p50 s", most=1.8), Goal("G10", "C2", "hand p50 s", most=2.1)]
    out += [Goal("G10", where, "s per cell", most=7.0) for where in ("quiet", "typical")]
    out += [
        Goal("G11", "quiet", "green >2 d", most=5),
        Goal("G11", "typical", "green >2 d", most=20),
        Goal("G11", "mishaps", "green >2 d", most=50),
        Goal("G11", "quiet", "wrong item", most=0),
        Goal("G11", "typical", "wrong item", most=0),
        Goal("beyond", "mishaps", "wrong item", most=10),
        Goal("beyond", "wrong kinds", "wrong kinds taken %", most=1),
        Goal("G12", "two at once", "two taken %", most=0.5),
        Goal("beyond", "typical", "asked /100", most=5),
        Goal("beyond", "mishaps", "asked /100", most=9),
        Goal("beyond", "quiet", "keys pressed /100", most=0),
        Goal("beyond", "typical", "keys pressed /100", most=0),
    ]
    for where in ("tare key", "unit key", "unplugged", "silence", "touch"):
        out += [
            Goal("G14", where, "filled %", least=98),
            Goal("G14", where, "wrong item", most=5),
            Goal("G14", where, "green >5 d", most=10),
        ]
    return out


def _pooled(figures: Figures, figure: str) -> float | None:
    if not all(name in figures for name in POOL):
        return None
    return sum(share * float(figures[name][figure]) for name, share in POOL.items()) / 100.0


def _compared(figures: Figures) -> Iterable[str]:
    for name in ("C1", "C2"):
        slow, quick = figures.get(f"{name} at 4 a second"), figures.get(f"{name} at 10 a second")
        if slow and quick:
            later = slow["p50 s"] - quick["p50 s"]
            met = "yes" if later <= 0.25 else "NO"
            count = slow["placements"]
            yield f"| G16 | {name}: delay p50 at 4 lines a second less that at 10 | ≤ 0.25 s | {later:.2f} s of {count:,} | {met} |"
    drift, little = figures.get("drift"), figures.get("little drift")
    if drift and little:
        met = "yes" if drift["green >1 d"] <= 2 * max(little["green >1 d"], 1.0) else "NO"
        found = f"{drift['green >1 d']:g} and {little['green >1 d']:g} of {drift['cells']:,}"
        yield f"| G15 | green >1 d at drift 0.1 g/min and at 0.05 | ≤ twice | {found} | {met} |"


def goal_lines(figures: Figures) -> list[str]:
    """Return the table of goals as Markdown."""
    head = ["| goal | figure (d: division; errors per 10,000) | wanted | reached | met |", "|---|---|---|---|---|"]
    return [*head, *(goal.line(figures) for goal in goals()), *_compared(figures)]


def rule_lines(figures: Figures, conditions: Iterable[str], rules: Iterable[str]) -> list[str]:
    """Return our rule beside the plain ones, condition by condition, and pooled over a realistic mix."""
    columns = ("p50 s", "p99 s", "final >1 d", "final >2 d", "final >5 d", "missed")
    lines = [
        "| condition | rule | delay p50 | p99 | > 1 d | > 2 d | > 5 d | never |",
        "|---|---|---|---|---|---|---|---|",
    ]
    every = ("ours", *rules)
    for name in conditions:
        for rule in every:
            row = figures.get(name) if rule == "ours" else figures.get(f"rules {name}", {}).get(rule)
            if row and row["placements"]:
                lines.append(f"| {name} | {rule} | " + " | ".join(f"{row[c]:g}" for c in columns) + " |")
    pooled = [_pooled(figures, c) for c in columns[2:]]
    if all(x is not None for x in pooled):
        lines.append("| realistic mix | ours | | | " + " | ".join(f"{x:.0f}" for x in pooled if x is not None) + " |")
        for rule in rules:
            known = {n: figures[f"rules {n}"][rule] for n in POOL if figures[f"rules {n}"][rule]["placements"]}
            mixed = [
                sum(POOL[n] * known[n][c] for n in known) / max(1, sum(POOL[n] for n in known)) for c in columns[2:]
            ]
            lines.append(f"| realistic mix | {rule} | | | " + " | ".join(f"{x:.0f}" for x in mixed) + " |")
    return lines

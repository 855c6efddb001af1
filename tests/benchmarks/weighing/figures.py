"""Figures from outcomes."""

from __future__ import annotations

import numpy as np
from single_placements import Outcome
from whole_sheets import Sheet

Row = dict[str, float]


def _per_10k(count: int, of: int) -> float:
    return round(1e4 * count / max(1, of), 1)


def our_row(outcomes: list[Outcome]) -> Row:
    """Return the figures of our machine over some placements."""
    n = len(outcomes)
    taken = [o for o in outcomes if o.taken_s is not None]
    late = np.array([o.taken_s - o.truth.settled_s for o in taken if o.taken_s is not None] or [np.nan])
    hand = np.array([o.taken_s - o.truth.off_s for o in taken if o.taken_s is not None] or [np.nan])
    tone = np.array([abs(o.at_tone_g - o.truth.mass_g) / o.division_g for o in taken])
    kept = [o for o in taken if not o.doubted]
    final = np.array([abs(o.final_g - o.truth.mass_g) / o.division_g for o in kept])
    green = np.array([abs(o.final_g - o.truth.mass_g) / o.division_g for o in kept if not o.doubtful])
    resting = [o for o in kept if o.taken_s is not None and o.taken_s >= o.truth.settled_s]
    ratio = np.array([abs(o.final_g - o.truth.mass_g) / (2 * o.u_g) for o in resting])
    row: Row = {
        "placements": n,
        "p50 s": round(float(np.median(late)), 2),
        "p99 s": round(float(np.percentile(late, 99)), 2),
        "hand p50 s": round(float(np.median(hand)), 2),
        "missed": _per_10k(n - len(taken), n),
        "silent miss": _per_10k(sum(o.taken_s is None and not any(t <= 8.0 for t, _ in o.words) for o in outcomes), n),
        "doubts": _per_10k(sum(o.doubted for o in taken), n),
        "asked": _per_10k(sum(o.asked for o in outcomes), n),
        "amber %": round(100 * sum(o.doubtful for o in taken) / max(1, len(taken)), 1),
        "within U %": round(100 * float(np.mean(ratio <= 1.0)), 2) if len(ratio) else 0.0,
        "within 1.5 U %": round(100 * float(np.mean(ratio <= 1.5)), 2) if len(ratio) else 0.0,
        "u p50 d": round(float(np.median([o.u_g / o.division_g for o in taken])), 2) if taken else 0.0,
    }
    for limit in (1, 2, 5):
        row[f"tone >{limit} d"] = _per_10k(int(np.sum(~(tone <= limit))), n)
    for limit in (1, 2, 5):
        row[f"final >{limit} d"] = _per_10k(int(np.sum(~(final <= limit))), n)
    for limit in (1, 2, 5):
        row[f"green >{limit} d"] = _per_10k(int(np.sum(~(green <= limit))), n)
    return row


def plain_row(outcomes: list[Outcome], rule: str) -> Row:
    """Return the figures of a plain rule on the same placements."""
    with_rule = [o for o in outcomes if rule in o.plain]
    n = len(with_rule)
    taken = [(o, c) for o in with_rule if (c := o.plain[rule]) is not None]
    late = np.array([c[0] - o.truth.settled_s for o, c in taken] or [np.nan])
    off = np.array([abs(c[1] - o.truth.mass_g / o.division_g) for o, c in taken])
    row: Row = {
        "placements": n,
        "p50 s": round(float(np.median(late)), 2),
        "p99 s": round(float(np.percentile(late, 99)), 2),
        "missed": _per_10k(n - len(taken), n),
    }
    for limit in (1, 2, 5):
        row[f"final >{limit} d"] = _per_10k(int(np.sum(~(off <= limit))), n)
    return row


def sheet_row(sheets: list[Sheet]) -> Row:
    """Return the figures of whole sheets."""
    cells = sum(s.cells for s in sheets)
    kept = [(s, k) for s in sheets for k in s.kept.values()]
    wrong = sum(k.truly_on != (k.key,) for _, k in kept)
    right = [(s, k) for s, k in kept if k.truly_on == (k.key,)]
    off = np.array([abs(k.value.refined_g - s.masses[k.key]) / 0.1 for s, k in right])
    green = np.array([not k.value.doubtful for _, k in right], dtype=bool)
    hand = np.array([t for s in sheets for t in s.hand_to_tone] or [np.nan])
    row: Row = {
        "jobs": len(sheets),
        "cells": cells,
        "filled %": round(100 * len(kept) / max(1, cells), 2),
        "wrong item": _per_10k(wrong, cells),
        "asked /100": round(100 * sum(s.asked for s in sheets) / max(1, cells), 2),
        "keys pressed /100": round(100 * sum(s.keys_pressed for s in sheets) / max(1, cells), 2),
        "advised /100": round(100 * sum(s.advised for s in sheets) / max(1, cells), 2),
        "not in 9 s": _per_10k(sum(s.impatient for s in sheets), cells),
        "doubts": _per_10k(sum(s.doubted for s in sheets), cells),
        "wrong kinds offered": sum(s.wrong_offered for s in sheets),
        "wrong kinds taken": sum(s.wrong_taken for s in sheets),
        "wrong kinds taken %": round(
            100 * sum(s.wrong_taken for s in sheets) / max(1, sum(s.wrong_offered for s in sheets)), 2
        ),
        "two offered": sum(s.two_offered for s in sheets),
        "two taken %": round(
            100 * sum(len(k.truly_on) > 1 for _, k in kept) / max(1, sum(s.two_offered for s in sheets)), 2
        ),
        "amber %": round(100 * float(np.mean(~green)), 1) if len(green) else 0.0,
        "hand p50 s": round(float(np.median(hand)), 2),
        "hand p99 s": round(float(np.percentile(hand, 99)), 2),
        "s per cell": round(sum(s.seconds for s in sheets) / max(1, cells), 2),
    }
    for limit in (1, 2, 5):
        row[f"green >{limit} d"] = _per_10k(int(np.sum(~(off[green] <= limit))), len(right))
    for limit in (2, 5):
        row[f"all >{limit} d"] = _per_10k(int(np.sum(~(off <= limit))), len(right))
    return row

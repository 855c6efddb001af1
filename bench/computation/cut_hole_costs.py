"""What a choice of holes costs: what it misses, how it scatters, its holes, and what it leaves for later."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_scatter import CutScatter
from bench.computation.cut_sites import LEAST_CUT_G, HoleSite, PlaneTask

MISS_WEIGHT = 4.0
_FIRST_HOLE_COST = 0.25
_FURTHER_HOLE_COST = 0.1
_DEEPENED_COST = 0.05
_LAST_HOLE_COST = 0.05  # a new hole when nothing is to come is worth no more than a deepened one
# what it costs to be out of line later, by how many further holes are still allowed
_SPARE_WEIGHTS = (2.5, 0.4, 0.0, 0.0)
_SPARE_FACING = 0.95


def lack_of_room(
    model: AnswerModel,
    there: Sequence[HoleSite],
    sites: Sequence[HoleSite],
    grams: Sequence[float],
    task: PlaneTask,
    slots: int,
) -> float:
    """Return what the holes could not take of what will have to go later.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    there : Sequence[HoleSite]
        Holes that may be deepened.
    sites : Sequence[HoleSite]
        The choice.
    grams : Sequence[float]
        What the choice takes at each site. [g]
    task : PlaneTask
        What is to go.
    slots : int
        How many further holes are allowed.

    Returns
    -------
    float
        Missing room; 0 when there is enough. [g]
    """
    size = abs(task.later)
    if size == 0.0:
        return 0.0
    towards = task.later.conjugate() / size
    room = sum(max(0.0, (s.unit * towards).real) * s.room_g for s in (*there, *(n for n in sites if not n.deepens)))
    room -= sum(max(0.0, (s.unit * towards).real) * m for s, m in zip(sites, grams, strict=True))
    largest = max(
        min(1e6, max((d.most_g for d in s.drills), default=s.most_g_per_hole)) * abs(model.effects[task.plane_index, i])
        for i, s in enumerate(model.stations)
        if s.plane_index == task.plane_index
    ) / abs(task.effect)
    spare = slots - sum(m >= LEAST_CUT_G for s, m in zip(sites, grams, strict=True) if not s.deepens)
    return max(0.0, size - room - (_SPARE_FACING * largest * spare if spare > 0 else 0.0))


def out_of_line(
    there: Sequence[HoleSite], sites: Sequence[HoleSite], grams: Sequence[float], task: PlaneTask, slots: int
) -> float:
    """Return what is lost when what has to go later points where no hole is and none may be added.

    Parameters
    ----------
    there : Sequence[HoleSite]
        Holes that may be deepened.
    sites : Sequence[HoleSite]
        The choice.
    grams : Sequence[float]
        What the choice takes at each site. [g]
    task : PlaneTask
        What is to go.
    slots : int
        How many further holes are allowed.

    Returns
    -------
    float
        Expected square of what would be missed, weighed by how many holes are still allowed. [g^2]
    """
    spare = slots - sum(m >= LEAST_CUT_G for s, m in zip(sites, grams, strict=True) if not s.deepens)
    weight = _SPARE_WEIGHTS[min(spare, len(_SPARE_WEIGHTS) - 1)]
    if weight == 0.0 or not task.likely_later:
        return 0.0
    taken = {id(s): m for s, m in zip(sites, grams, strict=True)}
    places = [s for s in (*there, *(n for n in sites if not n.deepens)) if s.room_g - taken.get(id(s), 0.0) > 1.0]
    middle = task.later if task.later != 0 else task.take
    offs = [cmath.phase(s.unit / middle) for s in places]
    low, high = min(offs, default=0.0), max(offs, default=0.0)
    lost = 0.0
    for case in task.likely_later:
        off = cmath.phase(case / middle) if case != 0 else 0.0
        beyond = max(0.0, off - high, low - off) if places else math.pi
        missed = abs(case) * (math.sin(beyond) if beyond < math.pi / 2.0 else 1.0)
        lost += missed * missed
    return weight * lost / len(task.likely_later)


def cost_of(
    sites: Sequence[HoleSite], grams: Sequence[float], task: PlaneTask, scatter: CutScatter, tolerance_g: float
) -> tuple[float, float]:
    """Return what a choice misses, and what it costs: its miss, its scatter and its holes.

    Parameters
    ----------
    sites : Sequence[HoleSite]
        The choice.
    grams : Sequence[float]
        What it takes at each site. [g]
    task : PlaneTask
        What is to go.
    scatter : CutScatter
        How far cuts stray.
    tolerance_g : float
        What may stay; sets what a hole is worth. [g]

    Returns
    -------
    tuple[float, float]
        The miss [g] and the cost [g^2].
    """
    miss = task.take
    variance = 0.0
    holes = 0.0
    new = False
    by_station: dict[str, tuple[complex, Mapping[str, float]]] = {}
    for site, m in zip(sites, grams, strict=True):
        if m < LEAST_CUT_G:
            continue
        miss -= site.unit * m
        radial, tangential = scatter.variances(m, deepens=site.deepens)
        variance += radial + tangential
        # an unsure effect counts with the vector sum of a station's holes: a fan is no less sure than one hole
        along = site.unit / abs(site.unit)
        by_station[site.station] = (by_station.get(site.station, (0j, {}))[0] + along * m, site.doubt)
        if site.deepens:
            holes += _DEEPENED_COST
        else:
            first = _FIRST_HOLE_COST if abs(task.later) > tolerance_g else _LAST_HOLE_COST
            holes += _FURTHER_HOLE_COST if new else first
            new = True
    # and two stations of one plane are unsure together: to share a cut between them makes it little surer
    variance += sum(
        doubt[other] * (taken * beside.conjugate()).real
        for taken, doubt in by_station.values()
        for other, (beside, _) in by_station.items()
    )
    return abs(miss), MISS_WEIGHT * abs(miss) ** 2 + variance + holes * tolerance_g**2

"""Which holes bring about a wanted cut in one plane: deepened ones first, new ones where they help, few in all."""

from __future__ import annotations

from collections.abc import Sequence

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_hole_costs import MISS_WEIGHT, cost_of, lack_of_room, out_of_line
from bench.computation.cut_scatter import Cut
from bench.computation.cut_sites import LEAST_CUT_G, HoleSite, PlaneTask, choices, existing_sites, holes_in_plane

_MISS_TAKEN = 0.3
_MISS_AT_LAST = 0.02
_MOST_FOR_ACCURACY = 2  # strays average out over holes; more new ones than two only for their room
_SLACK_G = 0.02


def cuts_for(model: AnswerModel, task: PlaneTask, *, most_holes: int, tolerance_g: float) -> tuple[Cut, ...]:
    """Return the cuts that take a wanted amount from a plane.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    task : PlaneTask
        What is to go, and what must stay.
    most_holes : int
        Limit of holes in the plane, those that are there included.
    tolerance_g : float
        What may stay; sets what a further hole is worth. [g]

    Returns
    -------
    tuple[Cut, ...]
        The cuts that come nearest with little scatter and few holes, none of them beyond what must stay; empty when
        nothing can be cut.
    """
    made = holes_in_plane(model.stations, task.plane_index)
    slots = max(0, most_holes - made)
    there = existing_sites(model, task)
    # holes are kept for directions that are not known yet: two after the first cut, one until the last
    reserve = 0 if abs(task.later) <= tolerance_g else 1 if made else 2
    best: tuple[float, float, tuple[tuple[HoleSite, float], ...]] = (0.0, 0.0, ())
    enough = _MISS_TAKEN if reserve else _MISS_AT_LAST
    for new in sorted({max(0, min(slots, 1), min(_MOST_FOR_ACCURACY, slots - reserve)), slots}):
        best = _best_of(model, task, there, allowed=new, slots=slots, tolerance_g=tolerance_g)
        if best[1] <= enough * abs(task.take):
            break
    return tuple(
        Cut(s.station, s.angle_deg % 360.0, g, diameter_mm=s.diameter_mm, deepens=s.deepens) for s, g in best[2]
    )


def _best_of(
    model: AnswerModel,
    task: PlaneTask,
    there: Sequence[HoleSite],
    *,
    allowed: int,
    slots: int,
    tolerance_g: float,
) -> tuple[float, float, tuple[tuple[HoleSite, float], ...]]:
    """Return the best choice of holes with so many new ones: its cost, what it misses, and the holes."""
    # what comes later is as much beside the holes that are there when nothing is cut
    best_cost = MISS_WEIGHT * abs(task.take) ** 2 + out_of_line(there, (), (), task, slots)
    best_miss = abs(task.take)
    best: tuple[tuple[HoleSite, float], ...] = ()
    for sites in choices(model, task, there, allowed):
        grams = _amounts(sites, task.take)
        if grams is None:
            continue
        grams = _held_back(sites, grams, task)
        miss, cost = cost_of(sites, grams, task, model.scatter, tolerance_g)
        if cost >= best_cost:
            continue
        cost += out_of_line(there, sites, grams, task, slots)
        if cost >= best_cost:
            continue
        cost += lack_of_room(model, there, sites, grams, task, slots) ** 2
        if cost < best_cost - 1e-12:
            best_cost, best_miss = cost, miss
            best = tuple((s, g) for s, g in zip(sites, grams, strict=True) if g >= LEAST_CUT_G)
    return best_cost, best_miss, best


def _held_back(sites: Sequence[HoleSite], grams: Sequence[float], task: PlaneTask) -> list[float]:
    """Return the amounts, scaled down together until what they leave stays as far inward as it must."""
    taken = sum((s.unit * m for s, m in zip(sites, grams, strict=True)), 0j)
    before = task.take + task.later
    scale = 1.0
    for normal, least in zip(task.inward, task.least, strict=True):
        step = (normal.conjugate() * taken).real
        room = (normal.conjugate() * before).real - least
        # where the aim itself had to give way, its own share is allowed
        room = max(room, (normal.conjugate() * task.take).real) + _SLACK_G
        if step > 0.0 and step * scale > room:
            scale = float(max(0.0, room / step))
    return [m * scale for m in grams]


def _amounts(sites: Sequence[HoleSite], effect: complex) -> list[float] | None:
    """Return the grams of every site that come nearest to the effect; None when one would be negative."""
    free = list(range(len(sites)))
    grams = [0.0] * len(sites)
    left = effect
    units = [s.unit for s in sites]
    while free:
        amounts = _least_norm([units[i] for i in free], left)
        if min(amounts) < 0.0:
            return None
        over = [i for i, m in zip(free, amounts, strict=True) if m > sites[i].room_g]
        if not over:
            for i, m in zip(free, amounts, strict=True):
                grams[i] = m
            return grams
        for i in over:
            grams[i] = sites[i].room_g
            left -= units[i] * grams[i]
            free.remove(i)
    return grams


def _least_norm(units: Sequence[complex], effect: complex) -> list[float]:
    """Return the smallest amounts whose sum comes nearest to the effect."""
    if len(units) == 1:
        unit = units[0]
        return [(unit.conjugate() * effect).real / abs(unit) ** 2]
    a = sum(u.real * u.real for u in units)
    b = sum(u.real * u.imag for u in units)
    d = sum(u.imag * u.imag for u in units)
    # holes in one line cannot serve two directions: a trace of damping keeps the sum finite
    damping = 1e-9 * (a + d)
    a, d = a + damping, d + damping
    det = a * d - b * b
    x = (d * effect.real - b * effect.imag) / det
    y = (a * effect.imag - b * effect.real) / det
    return [u.real * x + u.imag * y for u in units]

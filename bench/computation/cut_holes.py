"""Which holes bring about a wanted cut in one plane: deepened ones first, new ones where they help, few in all."""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.stations import Station, angle_between_deg

_LEAST_CUT_G = 0.05
_MISS_WEIGHT = 4.0
_MISS_TAKEN = 0.3
_NEW_HOLE_COST = 0.25
_DEEPENED_COST = 0.05
# what it costs to be out of line later, by how many further holes are still allowed
_SPARE_WEIGHTS = (1.5, 0.25, 0.05, 0.0)
_SLACK_G = 0.02
_MOST_NEW = 4
_SPARE_FACING = 0.95


@dataclass(frozen=True, slots=True)
class HoleSite:
    """A hole that could be drilled or deepened.

    Attributes
    ----------
    station : str
        Name of the station.
    angle_deg : float
        Where. [deg]
    room_g : float
        What may still be taken there. [g]
    per_gram : complex
        What 1 g here takes off, measured in grams of the plane's usual cut.
    diameter_mm : float | None
        The drill.
    deepens : bool
        Whether the hole is there already.
    doubt : float
        Variance of the station's effect on its own plane, along and across. [(g/g)^2]
    unit : complex
        What 1 g here takes off, as a vector.
    """

    station: str
    angle_deg: float
    room_g: float
    per_gram: complex
    diameter_mm: float | None
    deepens: bool
    doubt: float
    unit: complex


def _site(
    station: Station,
    angle_deg: float,
    room_g: float,
    per_gram: complex,
    diameter_mm: float | None,
    *,
    deepens: bool,
    doubt: float,
) -> HoleSite:
    unit = per_gram * cmath.rect(1.0, math.radians(angle_deg))
    return HoleSite(station.name, angle_deg, room_g, per_gram, diameter_mm, deepens, doubt, unit)


def holes_in_plane(stations: Sequence[Station], plane_index: int) -> int:
    """Return how many holes the stations of a plane have.

    Parameters
    ----------
    stations : Sequence[Station]
        All stations.
    plane_index : int
        The plane.

    Returns
    -------
    int
        Holes that are there.
    """
    return sum(len(s.holes) for s in stations if s.plane_index == plane_index)


@dataclass(frozen=True, slots=True)
class PlaneTask:
    """What is to go from one plane.

    Attributes
    ----------
    plane_index : int
        The plane.
    effect : complex
        What 1 g of the plane's usual cut takes off its reading.
    take : complex
        What to take now. [g]
    later : complex
        What will have to go after that; room is kept for it. [g]
    inward : tuple[complex, ...]
        Directions along which what is left must not fall short.
    least : tuple[float, ...]
        How far along each of them it has to stay. [g]
    likely_later : tuple[complex, ...]
        What may have to go afterwards, as a handful of equally likely cases. [g]
    """

    plane_index: int
    effect: complex
    take: complex
    later: complex
    inward: tuple[complex, ...]
    least: tuple[float, ...]
    likely_later: tuple[complex, ...] = ()


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
    there = _existing(model, task)
    # holes are kept for directions that are not known yet: two after the first cut, one until the last
    reserve = 0 if abs(task.later) <= tolerance_g else 1 if made else 2
    best: tuple[float, float, tuple[tuple[HoleSite, float], ...]] = (0.0, 0.0, ())
    for new in sorted({max(0, min(slots, 1), slots - reserve), slots}):
        best = _best_of(model, task, there, allowed=new, slots=slots, tolerance_g=tolerance_g)
        if best[1] <= _MISS_TAKEN * abs(task.take):
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
    best_cost, best_miss = _MISS_WEIGHT * abs(task.take) ** 2, abs(task.take)
    best: tuple[tuple[HoleSite, float], ...] = ()
    for sites in _choices(model, task, there, allowed):
        grams = _amounts(sites, task.take)
        if grams is None:
            continue
        grams = _held_back(sites, grams, task)
        miss, cost = _cost(sites, grams, task, model.scatter, tolerance_g)
        if cost >= best_cost:
            continue
        cost += _out_of_line(there, sites, grams, task, slots)
        if cost >= best_cost:
            continue
        cost += _lack_of_room(model, there, sites, grams, task, slots) ** 2
        if cost < best_cost - 1e-12:
            best_cost, best_miss = cost, miss
            best = tuple((s, g) for s, g in zip(sites, grams, strict=True) if g >= _LEAST_CUT_G)
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


def _choices(
    model: AnswerModel, task: PlaneTask, there: Sequence[HoleSite], slots: int
) -> Iterator[tuple[HoleSite, ...]]:
    """Yield sets of sites that are worth trying."""
    subsets = [c for n in range(min(len(there), 4) + 1) for c in itertools.combinations(there, n)]
    for subset in subsets:
        if subset:
            yield subset
    if not slots:
        return
    for station in _stations_for(model, task):
        own = complex(model.effects[task.plane_index, model.station_index(station.name)]) / task.effect
        towards = math.degrees(cmath.phase(task.take / own))
        for count in range(1, min(slots, _MOST_NEW) + 1):
            for new in _fans(station, towards, count, own, doubt=model.doubt_about(model.station_index(station.name))):
                yield new
                if count <= 2:
                    for subset in subsets:
                        if 0 < len(subset) <= 2:
                            yield (*subset, *new)


def _existing(model: AnswerModel, task: PlaneTask) -> list[HoleSite]:
    sites = [
        _site(
            s,
            h.angle_deg,
            s.most_g(h.diameter_mm) - h.grams,
            complex(model.effects[task.plane_index, index]) / task.effect,
            h.diameter_mm,
            deepens=True,
            doubt=model.doubt_about(index),
        )
        for index, s in enumerate(model.stations)
        if s.plane_index == task.plane_index
        for h in s.holes
    ]
    return [s for s in sites if s.room_g > _LEAST_CUT_G]


def _stations_for(model: AnswerModel, task: PlaneTask) -> list[Station]:
    """Return the two stations of a plane that serve a direction best: in reach, then those that are known best."""

    def rank(item: tuple[int, Station]) -> tuple[float, float]:
        index, station = item
        own = complex(model.effects[task.plane_index, index]) / task.effect
        towards = math.degrees(cmath.phase(task.take / own))
        off = 0.0
        if not station.is_round and station.centre_deg is not None:
            off = max(0.0, abs(angle_between_deg(towards, from_deg=station.centre_deg)) - station.arc_deg / 2.0)
        return (round(off, 3), model.doubt_about(index))

    mine = [(i, s) for i, s in enumerate(model.stations) if s.plane_index == task.plane_index]
    return [station for _, station in sorted(mine, key=rank)[:2]]


def _fans(
    station: Station, towards_deg: float, count: int, own: complex, *, doubt: float
) -> Iterator[tuple[HoleSite, ...]]:
    """Yield fans of new holes about a direction, moved aside where there is no metal or a hole already."""
    drills = [(d.diameter_mm, d.most_g) for d in station.drills] or [(None, station.most_g_per_hole)]
    seen: set[tuple[float, ...]] = set()
    gap = station.gap_deg
    forms: tuple[tuple[float, float], ...] = ((0.0, gap), (0.0, 2.0 * gap), (0.0, 3.0 * gap))
    if count == 1:
        forms = ((0.0, gap), (-gap, gap), (gap, gap), (-2.0 * gap, gap), (2.0 * gap, gap))
    for shift, step in forms:
        width = (count - 1) * step
        start = _pushed_inside(station, towards_deg + shift, width) - width / 2.0
        angles: list[float] = []
        for i in range(count):
            angle = _free_angle(station, start + i * step, angles)
            if angle is None:
                break
            angles.append(angle)
        key = tuple(round(a, 3) for a in angles)
        if len(angles) < count or key in seen:
            continue
        seen.add(key)
        for diameter, most in drills:
            yield tuple(_site(station, a, most, own, diameter, deepens=False, doubt=doubt) for a in angles)


def _pushed_inside(station: Station, angle_deg: float, width_deg: float) -> float:
    """Return the middle of a fan, pushed so that the fan stays within the arc where it can."""
    if station.is_round or station.centre_deg is None:
        return angle_deg
    room = max(0.0, station.arc_deg / 2.0 - width_deg / 2.0)
    off = angle_between_deg(angle_deg, from_deg=station.centre_deg)
    return station.centre_deg + max(-room, min(room, off))


def _free_angle(station: Station, angle_deg: float, taken: Sequence[float]) -> float | None:
    """Return the nearest angle at which a hole may start, or None."""
    others = [h.angle_deg for h in station.holes] + list(taken)

    def free(angle: float) -> bool:
        return station.allows(angle) and all(
            abs(angle_between_deg(angle, from_deg=o)) >= station.gap_deg - 1e-6 for o in others
        )

    if free(angle_deg):
        return angle_deg
    edges = [o + side * station.gap_deg for o in others for side in (-1.0, 1.0)]
    edges += [k.centre_deg + side * k.half_width_deg for k in station.keep_outs for side in (-1.0, 1.0)]
    if station.centre_deg is not None and not station.is_round:
        edges += [station.centre_deg + side * station.arc_deg / 2.0 for side in (-1.0, 1.0)]
    fitting = [e for e in edges if free(e)]
    return min(fitting, key=lambda e: abs(angle_between_deg(e, from_deg=angle_deg)), default=None)


def _amounts(sites: Sequence[HoleSite], effect: complex) -> list[float] | None:
    """Return the grams of every site that come nearest to the effect, evenly spread; None when one would be negative."""
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


def _lack_of_room(
    model: AnswerModel,
    there: Sequence[HoleSite],
    sites: Sequence[HoleSite],
    grams: Sequence[float],
    task: PlaneTask,
    slots: int,
) -> float:
    """Return what the holes could not take of what will have to go later. [g]"""
    size = abs(task.later)
    if size == 0.0:
        return 0.0
    towards = task.later.conjugate() / size
    room = sum(max(0.0, (s.unit * towards).real) * s.room_g for s in (*there, *(n for n in sites if not n.deepens)))
    room -= sum(max(0.0, (s.unit * towards).real) * m for s, m in zip(sites, grams, strict=True))
    largest = max(
        max((d.most_g for d in s.drills), default=s.most_g_per_hole) * abs(model.effects[task.plane_index, i])
        for i, s in enumerate(model.stations)
        if s.plane_index == task.plane_index
    ) / abs(task.effect)
    spare = slots - sum(m >= _LEAST_CUT_G for s, m in zip(sites, grams, strict=True) if not s.deepens)
    return max(0.0, size - room - (_SPARE_FACING * largest * spare if spare > 0 else 0.0))


def _out_of_line(
    there: Sequence[HoleSite], sites: Sequence[HoleSite], grams: Sequence[float], task: PlaneTask, slots: int
) -> float:
    """Return what is lost when what has to go later points where no hole is and none may be added. [g^2]"""
    spare = slots - sum(m >= _LEAST_CUT_G for s, m in zip(sites, grams, strict=True) if not s.deepens)
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


def _cost(
    sites: Sequence[HoleSite], grams: Sequence[float], task: PlaneTask, scatter: CutScatter, tolerance_g: float
) -> tuple[float, float]:
    """Return what a choice misses [g], and what it costs: its miss, its scatter and its holes [g^2]."""
    miss = task.take
    variance = 0.0
    holes = 0.0
    by_station: dict[str, float] = {}
    for site, m in zip(sites, grams, strict=True):
        if m < _LEAST_CUT_G:
            continue
        miss -= site.unit * m
        radial, tangential = scatter.variances(m)
        variance += radial + tangential
        by_station[site.station] = by_station.get(site.station, 0.0) + m * math.sqrt(site.doubt)
        holes += _DEEPENED_COST if site.deepens else _NEW_HOLE_COST
    variance += sum(v * v for v in by_station.values())
    return abs(miss), _MISS_WEIGHT * abs(miss) ** 2 + variance + holes * tolerance_g**2

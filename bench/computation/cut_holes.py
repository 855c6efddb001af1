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
_NEW_HOLE_COST = 0.25
_DEEPENED_COST = 0.05
_RESERVE_SHARE = 0.12
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
    """

    station: str
    angle_deg: float
    room_g: float
    per_gram: complex
    diameter_mm: float | None
    deepens: bool

    @property
    def unit(self) -> complex:
        """What 1 g here takes off, as a vector."""
        return self.per_gram * cmath.rect(1.0, math.radians(self.angle_deg))


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
    """

    plane_index: int
    effect: complex
    take: complex
    later: complex
    inward: tuple[complex, ...]
    least: tuple[float, ...]


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
    slots = max(0, most_holes - holes_in_plane(model.stations, task.plane_index))
    there = _existing(model, task)
    best: tuple[float, list[tuple[HoleSite, float]]] = (_MISS_WEIGHT * abs(task.take) ** 2, [])
    for sites in _choices(model, task, there, slots):
        grams = _amounts(sites, task.take)
        if grams is None:
            continue
        grams = _held_back(sites, grams, task)
        cost = _cost(sites, grams, task, model.scatter, tolerance_g)
        if cost >= best[0]:
            continue
        if slots and sum(not s.deepens for s in sites) == slots:
            # the last hole is kept for a direction that is not known yet
            cost += (_RESERVE_SHARE * abs(task.take)) ** 2 + tolerance_g**2
        cost += _lack_of_room(model, there, sites, grams, task, slots) ** 2
        if cost < best[0] - 1e-12:
            best = (cost, [(s, g) for s, g in zip(sites, grams, strict=True) if g >= _LEAST_CUT_G])
    return tuple(
        Cut(s.station, s.angle_deg % 360.0, g, diameter_mm=s.diameter_mm, deepens=s.deepens) for s, g in best[1]
    )


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
            scale = max(0.0, room / step)
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
            for new in _fans(station, towards, count, own):
                yield new
                if count <= 2:
                    for subset in subsets:
                        if subset:
                            yield (*subset, *new)


def _existing(model: AnswerModel, task: PlaneTask) -> list[HoleSite]:
    sites = [
        HoleSite(
            s.name,
            h.angle_deg,
            s.most_g(h.diameter_mm) - h.grams,
            complex(model.effects[task.plane_index, index]) / task.effect,
            h.diameter_mm,
            deepens=True,
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


def _fans(station: Station, towards_deg: float, count: int, own: complex) -> Iterator[tuple[HoleSite, ...]]:
    """Yield fans of new holes about a direction, moved aside where there is no metal or a hole already."""
    drills: list[tuple[float | None, float]] = [(d.diameter_mm, d.most_g) for d in station.drills]
    drills = drills or [(None, station.most_g_per_hole)]
    width = (count - 1) * station.gap_deg
    shifts = (0.0,) if count > 2 else (0.0, -station.gap_deg / 2.0, station.gap_deg / 2.0)
    seen: set[tuple[float, ...]] = set()
    for shift in shifts:
        start = _pushed_inside(station, towards_deg + shift, width) - width / 2.0
        angles: list[float] = []
        for i in range(count):
            angle = _free_angle(station, start + i * station.gap_deg, angles)
            if angle is None:
                break
            angles.append(angle)
        key = tuple(round(a, 3) for a in angles)
        if len(angles) < count or key in seen:
            continue
        seen.add(key)
        for diameter, most in drills:
            yield tuple(HoleSite(station.name, a, most, own, diameter, deepens=False) for a in angles)


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
    """Return the grams of every site that come nearest to the effect, evenly spread; None when one is negative."""
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
    """Return what the holes could not take of what will have to go later. [g]."""
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


def _cost(
    sites: Sequence[HoleSite], grams: Sequence[float], task: PlaneTask, scatter: CutScatter, tolerance_g: float
) -> float:
    """Return what a choice costs: what it misses, how it scatters, and its holes, in square grams."""
    miss = task.take
    variance = 0.0
    holes = 0.0
    for site, m in zip(sites, grams, strict=True):
        if m < _LEAST_CUT_G:
            continue
        miss -= site.unit * m
        radial, tangential = scatter.variances(m)
        variance += radial + tangential
        holes += _DEEPENED_COST if site.deepens else _NEW_HOLE_COST
    return _MISS_WEIGHT * abs(miss) ** 2 + variance + holes * tolerance_g**2

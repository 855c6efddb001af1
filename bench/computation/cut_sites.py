"""Where a hole could be drilled or deepened in one plane, and which sets of places are worth trying."""

from __future__ import annotations

import cmath
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from bench.computation.answer_model import AnswerModel
from bench.computation.stations import Station, angle_between_deg

LEAST_CUT_G = 0.05
_MOST_NEW = 4
_ROOM_ENOUGH_G = 1e6


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
    doubt : Mapping[str, float]
        How far the station's effect is unsure together with that of each station, by its name. [(g/g)^2]
    unit : complex
        What 1 g here takes off, as a vector.
    """

    station: str
    angle_deg: float
    room_g: float
    per_gram: complex
    diameter_mm: float | None
    deepens: bool
    doubt: Mapping[str, float]
    unit: complex


def _site(
    station: Station,
    angle_deg: float,
    room_g: float,
    per_gram: complex,
    diameter_mm: float | None,
    *,
    deepens: bool,
    doubt: Mapping[str, float],
) -> HoleSite:
    room_g = min(room_g, _ROOM_ENOUGH_G)
    unit = per_gram * cmath.rect(1.0, math.radians(angle_deg))
    return HoleSite(station.name, angle_deg, room_g, per_gram, diameter_mm, deepens, doubt, unit)


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


def choices(
    model: AnswerModel, task: PlaneTask, there: Sequence[HoleSite], slots: int
) -> Iterator[tuple[HoleSite, ...]]:
    """Yield sets of sites that are worth trying.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    task : PlaneTask
        What is to go.
    there : Sequence[HoleSite]
        Holes that may be deepened.
    slots : int
        How many new holes a set may have.

    Yields
    ------
    tuple[HoleSite, ...]
        Sites of one set.
    """
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
            for new in _fans(
                station, towards, count, own, doubt=shared_doubt(model, model.station_index(station.name))
            ):
                yield new
                if count <= 2:
                    for subset in subsets:
                        if 0 < len(subset) <= 2:
                            yield (*subset, *new)


def existing_sites(model: AnswerModel, task: PlaneTask) -> list[HoleSite]:
    """Return the holes of a plane that may be deepened.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    task : PlaneTask
        What is to go.

    Returns
    -------
    list[HoleSite]
        Those that have room left.
    """
    sites = [
        _site(
            s,
            h.angle_deg,
            s.most_g(h.diameter_mm) - h.grams,
            complex(model.effects[task.plane_index, index]) / task.effect,
            h.diameter_mm,
            deepens=True,
            doubt=shared_doubt(model, index),
        )
        for index, s in enumerate(model.stations)
        if s.plane_index == task.plane_index
        for h in s.holes
    ]
    return [s for s in sites if s.room_g > LEAST_CUT_G]


def shared_doubt(model: AnswerModel, station_index: int) -> dict[str, float]:
    """Return how far a station's effects are unsure together with those of each station.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    station_index : int
        Place of the station.

    Returns
    -------
    dict[str, float]
        By the name of the other station, sum of the covariances of their effects on all planes; the sum of the
        variances for the station itself. [(g/g)^2]
    """
    size = 2 * model.planes
    start = size * (1 + station_index)
    rows = model.covariance[start : start + size, size:]
    return {s.name: float(rows[:, size * i : size * (i + 1)].trace()) for i, s in enumerate(model.stations)}


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
    station: Station, towards_deg: float, count: int, own: complex, *, doubt: Mapping[str, float]
) -> Iterator[tuple[HoleSite, ...]]:
    """Yield fans of new holes about a direction, moved aside where there is no metal or a hole already."""
    drills: list[tuple[float | None, float]] = [(d.diameter_mm, d.most_g) for d in station.drills]
    drills = drills or [(None, station.most_g_per_hole)]
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

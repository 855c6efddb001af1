"""Where metal may be taken from a rotor: stations, their arcs, their drills and the holes already there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from bench.computation.checks import finite, positive
from bench.computation.errors import QuantityError
from bench.computation.vectors import turned_into_circle

ROUND_DEG = 360.0
_MOST_EFFECT = 1e6


def angle_between_deg(angle_deg: float, *, from_deg: float) -> float:
    """Return the shortest turn from one direction to the other.

    Parameters
    ----------
    angle_deg : float
        Where to. [deg]
    from_deg : float
        Where from. [deg]

    Returns
    -------
    float
        Counter-clockwise positive, from -180 up to 180. [deg]

    Examples
    --------
    >>> angle_between_deg(10.0, from_deg=350.0)
    20.0
    """
    return (angle_deg - from_deg + 180.0) % ROUND_DEG - 180.0


@dataclass(frozen=True, slots=True)
class Drill:
    """A drill to hand.

    Attributes
    ----------
    diameter_mm : float
        Its diameter. [mm]
    most_g : float
        What one hole of it may take away down to the depth limit, as grams at the correction radius. [g]
    """

    diameter_mm: float
    most_g: float


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole that is there already.

    Attributes
    ----------
    angle_deg : float
        Where it is. [deg]
    grams : float
        What was taken there so far. [g]
    diameter_mm : float | None
        Its drill; None where not known.
    """

    angle_deg: float
    grams: float
    diameter_mm: float | None = None


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A part of the arc that must not be touched: an oil hole, a fillet, an edge.

    Attributes
    ----------
    centre_deg : float
        Its middle. [deg]
    half_width_deg : float
        How far it reaches to each side, for the middle of a hole. [deg]
    what : str
        What is there, in words.
    """

    centre_deg: float
    half_width_deg: float
    what: str = ""


@dataclass(frozen=True, slots=True)
class Station:
    """A place along the rotor where a drill can stand.

    Attributes
    ----------
    name : str
        What the person calls it.
    plane_index : int
        The correction plane it counts to, from 0.
    effect : tuple[complex, ...]
        What 1 g taken here takes off the reading of each plane, as far as geometry tells; real for a rigid
        rotor. A station off the plane counts in both planes.
    centre_deg : float | None
        Middle of the arc where metal may go; None when it may go anywhere. [deg]
    arc_deg : float
        Width of that arc for the middle of a hole. [deg]
    drills : tuple[Drill, ...]
        Drills to hand with what a hole of each may take; empty when the person chooses.
    most_g_per_hole : float
        Limit of one hole where no drill is named; infinite when there is none. [g]
    gap_deg : float
        Least angle between the middles of two holes. [deg]
    holes : tuple[Hole, ...]
        Holes already there.
    keep_outs : tuple[KeepOut, ...]
        Where not to drill.
    """

    name: str
    plane_index: int
    effect: tuple[complex, ...]
    centre_deg: float | None = None
    arc_deg: float = ROUND_DEG
    drills: tuple[Drill, ...] = ()
    most_g_per_hole: float = math.inf
    gap_deg: float = 14.0
    holes: tuple[Hole, ...] = ()
    keep_outs: tuple[KeepOut, ...] = field(default=())

    @property
    def is_round(self) -> bool:
        """Whether metal may go all the way round."""
        return self.centre_deg is None or self.arc_deg >= ROUND_DEG

    def most_g(self, diameter_mm: float | None) -> float:
        """Return what one hole may take here.

        Parameters
        ----------
        diameter_mm : float | None
            The hole's drill; None for a hole of unknown make.

        Returns
        -------
        float
            Limit of one hole. [g]
        """
        for drill in self.drills:
            if drill.diameter_mm == diameter_mm:
                return drill.most_g
        return min((d.most_g for d in self.drills), default=self.most_g_per_hole)

    def allows(self, angle_deg: float) -> bool:
        """Tell whether the middle of a hole may be at an angle, other holes apart.

        Parameters
        ----------
        angle_deg : float
            Where. [deg]

        Returns
        -------
        bool
            Within the arc and off every keep-out.
        """
        if self.centre_deg is not None and not self.is_round:
            off = abs(angle_between_deg(angle_deg, from_deg=self.centre_deg))
            if not off <= self.arc_deg / 2.0 + 1e-9:
                return False
        return all(abs(angle_between_deg(angle_deg, from_deg=k.centre_deg)) >= k.half_width_deg for k in self.keep_outs)

    def with_cut(self, *, angle_deg: float, grams: float, diameter_mm: float | None = None) -> Station:
        """Return the station after a hole was drilled or deepened.

        Parameters
        ----------
        angle_deg : float
            Where it was drilled; within a third of the gap of a hole that is there, that hole was deepened. [deg]
        grams : float
            What was taken. [g]
        diameter_mm : float | None
            The drill.

        Returns
        -------
        Station
            A new value.
        """
        for index, hole in enumerate(self.holes):
            if abs(angle_between_deg(angle_deg, from_deg=hole.angle_deg)) < self.gap_deg / 3.0:
                deeper = replace(hole, grams=hole.grams + grams)
                return replace(self, holes=(*self.holes[:index], deeper, *self.holes[index + 1 :]))
        return replace(self, holes=(*self.holes, Hole(turned_into_circle(angle_deg), grams, diameter_mm)))


def stations_anywhere(planes: Sequence[str]) -> tuple[Station, ...]:
    """Return one station a plane for a rotor whose metal may be taken anywhere, each in its own plane.

    Parameters
    ----------
    planes : Sequence[str]
        Names of the correction planes, front first.

    Returns
    -------
    tuple[Station, ...]
        Full circles without limits.

    Raises
    ------
    QuantityError
        If there is no plane.

    Examples
    --------
    >>> stations_anywhere(["front", "rear"])[1].effect
    (0j, (1+0j))
    """
    if not planes:
        raise QuantityError("planes", found="none", wanted="at least one plane")
    return tuple(
        Station(name, index, tuple(1.0 + 0j if p == index else 0j for p in range(len(planes))))
        for index, name in enumerate(planes)
    )


def effect_by_statics(
    *, position_mm: float, planes_mm: Sequence[float], radius_mm: float, correction_radius_mm: float
) -> tuple[complex, ...]:
    """Return what 1 g taken at a place along a rigid rotor takes off each plane.

    Parameters
    ----------
    position_mm : float
        Where along the axis the hole is. [mm]
    planes_mm : Sequence[float]
        Where the one or two correction planes are. [mm]
    radius_mm : float
        Radius of the middle of the metal that goes. [mm]
    correction_radius_mm : float
        Radius at which the reading's grams count. [mm]

    Returns
    -------
    tuple[complex, ...]
        One a plane; a hole outside the planes counts negative in the far one.

    Raises
    ------
    QuantityError
        If a length cannot be, or the two planes are in one place.

    Notes
    -----
    Source: lever rule of statics for two parallel planes.

    Examples
    --------
    >>> effect_by_statics(position_mm=45.0, planes_mm=[0.0, 450.0], radius_mm=90.0, correction_radius_mm=90.0)
    ((0.9+0j), (0.1+0j))
    """
    scale = positive(radius_mm, quantity="radius_mm") / positive(correction_radius_mm, quantity="correction_radius_mm")
    finite(position_mm, quantity="position_mm")
    if len(planes_mm) == 1:
        return (complex(scale),)
    if len(planes_mm) != 2:
        raise QuantityError("planes_mm", found=f"{len(planes_mm)} planes", wanted="one or two")
    front, rear = (finite(z, quantity="planes_mm") for z in planes_mm)
    if front == rear:
        raise QuantityError("planes_mm", found=f"both at {front}", wanted="two places apart")
    share = (position_mm - front) / (rear - front)
    return (complex(scale * (1.0 - share)), complex(scale * share))


def checked_stations(stations: Sequence[Station]) -> tuple[Station, ...]:
    """Return the stations if they can be planned with.

    Parameters
    ----------
    stations : Sequence[Station]
        In any order.

    Returns
    -------
    tuple[Station, ...]
        The same.

    Raises
    ------
    QuantityError
        If there is none, names repeat, a plane has no station, or a number cannot be.
    """
    if not stations:
        raise QuantityError("stations", found="none", wanted="at least one station")
    planes = len(stations[0].effect)
    names: set[str] = set()
    for index, station in enumerate(stations):
        what = f"stations[{index}]"
        if station.name in names:
            raise QuantityError(f"{what}.name", found=station.name, wanted="a name no other station has")
        names.add(station.name)
        if len(station.effect) != planes or not 0 <= station.plane_index < planes:
            raise QuantityError(
                what,
                found=f"plane {station.plane_index}, effect on {len(station.effect)}",
                wanted=f"a plane from 0 and an effect on each of {planes} planes",
            )
        for effect in station.effect:
            # planes at one place or a radius of nothing make a gram do anything at all
            if finite(abs(effect), quantity=f"{what}.effect") > _MOST_EFFECT:
                raise QuantityError(
                    f"{what}.effect", found=f"{abs(effect):g} g a gram", wanted=f"at most {_MOST_EFFECT:g} g a gram"
                )
        positive(abs(station.effect[station.plane_index]), quantity=f"{what}.effect on its own plane")
        if station.centre_deg is not None:
            finite(station.centre_deg, quantity=f"{what}.centre_deg")
        positive(station.arc_deg, quantity=f"{what}.arc_deg")
    missing = sorted(set(range(planes)) - {s.plane_index for s in stations})
    if missing:
        raise QuantityError("stations", found=f"none in plane {missing[0]}", wanted="at least one station a plane")
    return tuple(stations)

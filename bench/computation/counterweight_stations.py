"""Stations from what can be measured on a crank: place, radius, arc, drills, depth limit, holes that are there.

A cut counts in grams at the correction radius of its plane. Here those grams become a drill and a depth, and a depth
limit becomes the most that a hole may take.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, not_negative, positive
from bench.computation.cut_scatter import Cut
from bench.computation.drill import Drill as DrillShape
from bench.computation.drill import depth_for_amount, hole_of_depth
from bench.computation.errors import QuantityError
from bench.computation.stations import Drill, Hole, KeepOut, Station, angle_between_deg, effect_by_statics

STEEL_G_CM3 = 7.85
POINT_DEG = 118.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeHole:
    """A hole that is there, as it can be measured.

    Attributes
    ----------
    angle_deg : float
        Where. [deg]
    diameter_mm : float
        Its drill. [mm]
    depth_mm : float
        At full diameter. [mm]
    """

    angle_deg: float
    diameter_mm: float
    depth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterweightPlace:
    """A place on a counterweight where a drill can stand, radially.

    Attributes
    ----------
    name : str
        What the person calls it.
    plane_index : int
        The correction plane it counts to, from 0.
    position_mm : float
        Along the axis, as the planes' positions are told. [mm]
    outer_radius_mm : float
        Where a hole starts. [mm]
    drills_mm : tuple[float, ...]
        Drills to hand. [mm]
    most_depth_mm : float
        Depth limit at full diameter, from the crank's maker or a qualified machinist. [mm]
    centre_deg : float | None
        Middle of the metal; None when it goes all the way round. [deg]
    arc_deg : float
        Width of the metal, from edge to edge. [deg]
    wall_mm : float
        Least metal between two holes, and between a hole and an edge. [mm]
    point_deg : float
        Point angle of the drills. [deg]
    density_g_cm3 : float
        Of the counterweight. [g/cm3]
    keep_outs : tuple[KeepOut, ...]
        What must not be touched, from its middle to its edge.
    holes : tuple[MadeHole, ...]
        Holes that are there.
    """

    name: str
    plane_index: int
    position_mm: float
    outer_radius_mm: float
    drills_mm: tuple[float, ...]
    most_depth_mm: float
    centre_deg: float | None = None
    arc_deg: float = 360.0
    wall_mm: float = 3.0
    point_deg: float = POINT_DEG
    density_g_cm3: float = STEEL_G_CM3
    keep_outs: tuple[KeepOut, ...] = ()
    holes: tuple[MadeHole, ...] = ()

    def shape(self, diameter_mm: float, *, slug_density_g_cm3: float | None = None) -> DrillShape:
        """Return one of the drills at this place, for the sums of `drill`.

        Parameters
        ----------
        diameter_mm : float
            The drill. [mm]
        slug_density_g_cm3 : float | None
            Heavy metal that fills the hole; None for an empty hole. [g/cm3]

        Returns
        -------
        bench.computation.drill.Drill
            With this place's radius, metal and depth limit.
        """
        return DrillShape(
            diameter_mm=diameter_mm,
            point_deg=self.point_deg,
            outer_radius_mm=self.outer_radius_mm,
            density_g_cm3=self.density_g_cm3,
            slug_density_g_cm3=slug_density_g_cm3,
            depth_limit_mm=self.most_depth_mm,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneGeometry:
    """Where the correction planes are and at which radius their grams count.

    Attributes
    ----------
    positions_mm : tuple[float, ...]
        Of one or two planes along the axis. [mm]
    radii_mm : tuple[float, ...]
        Correction radius of each. [mm]
    """

    positions_mm: tuple[float, ...]
    radii_mm: tuple[float, ...]


def station_from(place: CounterweightPlace, planes: PlaneGeometry) -> Station:
    """Return the station that a measured place is.

    Parameters
    ----------
    place : CounterweightPlace
        As measured.
    planes : PlaneGeometry
        The planes.

    Returns
    -------
    Station
        Its effects by statics; its arc, gaps and keep-outs narrowed so that whole holes with their walls fit; the
        most a hole of each drill takes down to the depth limit.

    Raises
    ------
    QuantityError
        If a figure cannot be, no drill is named, or the widest drill does not fit the arc.

    Notes
    -----
    Holes run towards the axis, so two of them come nearest at the depth limit: the gap is taken there.

    Examples
    --------
    >>> planes = PlaneGeometry(positions_mm=(0.0, 450.0), radii_mm=(90.0, 90.0))
    >>> place = CounterweightPlace(name="front 1", plane_index=0, position_mm=45.0, outer_radius_mm=92.0,
    ...     drills_mm=(12.0,), most_depth_mm=30.0, centre_deg=180.0, arc_deg=120.0)
    >>> station = station_from(place, planes)
    >>> station.effect, round(station.drills[0].most_g, 2), round(station.gap_deg, 2)
    (((0.9+0j), (0.1+0j)), 23.47, 13.9)
    """
    if len(planes.radii_mm) != len(planes.positions_mm):
        raise QuantityError("radii_mm", found=len(planes.radii_mm), wanted=f"{len(planes.positions_mm)}, one a plane")
    if not 0 <= place.plane_index < len(planes.positions_mm):
        raise QuantityError("plane", found=place.plane_index, wanted=f"0 to {len(planes.positions_mm) - 1}")
    if not place.drills_mm:
        raise QuantityError("drills_mm", found="none", wanted="at least one drill")
    widest = max(positive(d, quantity="drills_mm") for d in place.drills_mm)
    not_negative(place.wall_mm, quantity="wall_mm")
    own = positive(planes.radii_mm[place.plane_index], quantity="radii_mm")
    effect = tuple(
        e * own / positive(r, quantity="radii_mm")
        for e, r in zip(
            effect_by_statics(
                position_mm=place.position_mm,
                planes_mm=planes.positions_mm,
                radius_mm=own,
                correction_radius_mm=own,
            ),
            planes.radii_mm,
            strict=True,
        )
    )
    edge_deg = _half_angle_deg(widest / 2.0 + place.wall_mm, place.outer_radius_mm)
    round_metal = place.centre_deg is None or place.arc_deg >= 360.0
    arc_deg = 360.0 if round_metal else finite(place.arc_deg, quantity="arc_deg") - 2.0 * edge_deg
    if not arc_deg > 0.0:
        raise QuantityError(
            "arc_deg",
            found=place.arc_deg,
            wanted=f"more than {2.0 * edge_deg:.4g} degrees, so that the {widest:g} mm drill and its walls fit",
        )
    drills = tuple(
        Drill(d, hole_of_depth(place.shape(d), depth_mm=place.most_depth_mm).amount_g_mm / own) for d in place.drills_mm
    )
    return Station(
        name=place.name,
        plane_index=place.plane_index,
        effect=effect,
        centre_deg=None if round_metal else place.centre_deg,
        arc_deg=arc_deg,
        drills=drills,
        gap_deg=2.0 * _half_angle_deg((widest + place.wall_mm) / 2.0, place.outer_radius_mm - place.most_depth_mm),
        holes=tuple(
            Hole(
                h.angle_deg,
                hole_of_depth(place.shape(h.diameter_mm), depth_mm=h.depth_mm).amount_g_mm / own,
                h.diameter_mm,
            )
            for h in place.holes
        ),
        keep_outs=tuple(KeepOut(k.centre_deg, k.half_width_deg + edge_deg, k.what) for k in place.keep_outs),
    )


def _half_angle_deg(half_width_mm: float, radius_mm: float) -> float:
    """Return the angle whose chord at a radius is twice a half width, halved."""
    if not radius_mm > half_width_mm:
        raise QuantityError(
            "most_depth_mm", found=f"{radius_mm:.4g} mm of radius left", wanted="room for a drill at the depth limit"
        )
    return math.degrees(math.asin(half_width_mm / radius_mm))


@dataclass(frozen=True, slots=True)
class DrilledDepth:
    """How a cut is drilled.

    Attributes
    ----------
    diameter_mm : float | None
        The drill; None when none at hand makes so small or so large a hole. [mm]
    depth_mm : float | None
        Depth to drill to at full diameter, from the outer radius; for a hole that is deepened, its whole depth. [mm]
    from_depth_mm : float
        How deep the hole is already. [mm]
    """

    diameter_mm: float | None
    depth_mm: float | None
    from_depth_mm: float = 0.0


def depth_of(cut: Cut, *, place: CounterweightPlace, station: Station, correction_radius_mm: float) -> DrilledDepth:
    """Return drill and depth of a cut.

    Parameters
    ----------
    cut : Cut
        Planned at the station, not yet in its holes.
    place : CounterweightPlace
        The station as measured.
    station : Station
        As it is now, with every hole made so far.
    correction_radius_mm : float
        Of its plane. [mm]

    Returns
    -------
    DrilledDepth
        For a new hole the planned drill, or the widest that is not too wide for so little; for a deepened one the
        hole's own drill and its whole new depth.

    Examples
    --------
    >>> planes = PlaneGeometry(positions_mm=(0.0,), radii_mm=(90.0,))
    >>> place = CounterweightPlace(name="disc", plane_index=0, position_mm=0.0, outer_radius_mm=92.0,
    ...     drills_mm=(12.0,), most_depth_mm=30.0)
    >>> made = depth_of(Cut("disc", 0.0, 20.0, 12.0), place=place, station=station_from(place, planes),
    ...     correction_radius_mm=90.0)
    >>> made.diameter_mm, round(made.depth_mm or 0.0, 1)
    (12.0, 24.5)
    """
    there = next(
        (
            h
            for h in station.holes
            if abs(angle_between_deg(cut.angle_deg, from_deg=h.angle_deg)) < station.gap_deg / 3.0
        ),
        None,
    )
    if there is not None:
        if there.diameter_mm is None:
            return DrilledDepth(None, None)
        before = _depth(place, there.diameter_mm, there.grams * correction_radius_mm)
        after = _depth(place, there.diameter_mm, (there.grams + cut.grams) * correction_radius_mm)
        return DrilledDepth(there.diameter_mm, after, before or 0.0)
    wanted = [cut.diameter_mm] if cut.diameter_mm is not None else []
    for diameter in (*wanted, *sorted(set(place.drills_mm) - set(wanted), reverse=True)):
        depth = _depth(place, diameter, cut.grams * correction_radius_mm)
        if depth is not None:
            return DrilledDepth(diameter, depth)
    return DrilledDepth(None, None)


def _depth(place: CounterweightPlace, diameter_mm: float, amount_g_mm: float) -> float | None:
    """Return the depth that takes an amount, or None where this drill cannot."""
    try:
        return depth_for_amount(place.shape(diameter_mm), amount_g_mm=amount_g_mm).depth_mm
    except QuantityError:
        return None


def stations_from(places: Sequence[CounterweightPlace], planes: PlaneGeometry) -> tuple[Station, ...]:
    """Return the stations of measured places.

    Parameters
    ----------
    places : Sequence[CounterweightPlace]
        In any order.
    planes : PlaneGeometry
        The planes.

    Returns
    -------
    tuple[Station, ...]
        In the same order.

    Raises
    ------
    QuantityError
        As `station_from`, with the place's number in front.
    """
    found: list[Station] = []
    for index, place in enumerate(places):
        try:
            found.append(station_from(place, planes))
        except QuantityError as fault:
            raise QuantityError(
                f"stations[{index}].{fault.quantity}", found=fault.found, wanted=fault.wanted
            ) from fault
    return tuple(found)

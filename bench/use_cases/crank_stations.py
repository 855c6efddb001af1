"""The stations of a job as the planner computes with them: measured ones, or one whole plane each."""

from __future__ import annotations

from dataclasses import dataclass

from bench.computation.counterweight_stations import (
    CounterweightPlace,
    DrilledDepth,
    MadeHole,
    PlaneGeometry,
    depth_of,
    stations_from,
)
from bench.computation.cut_scatter import Cut
from bench.computation.drill import depth_for_amount, depth_for_grams, hole_of_depth
from bench.computation.errors import QuantityError
from bench.computation.stations import KeepOut, Station
from bench.models.job import JobSpec
from bench.models.stations import StationSet
from bench.use_cases.errors import RefusedError
from bench.use_cases.view import CutLine

MOST_G_PER_HOLE = 40.0
"""Where no station is measured, a single hole of more than this is split; the depth limit is the crank maker's. [g]"""
HEAVY_METAL_G_CM3 = 17.0
"""Tungsten heavy alloy, the lightest class of ASTM B777 (16.85 to 17.25), from memory; a slug is weighed. [g/cm3]"""


@dataclass(frozen=True, slots=True)
class CrankStations:
    """A job's stations.

    Attributes
    ----------
    stations : tuple[Station, ...]
        For the planner.
    places : dict[str, CounterweightPlace]
        As measured, by name; empty where none are.
    planes : tuple[str, ...]
        Names of the planes that metal goes from.
    radii_mm : tuple[float, ...]
        Their correction radii. [mm]
    """

    stations: tuple[Station, ...]
    places: dict[str, CounterweightPlace]
    planes: tuple[str, ...]
    radii_mm: tuple[float, ...]

    def at(self, *, plane: str, station: str) -> Station:
        """Return the station a cut was made at.

        Parameters
        ----------
        plane : str
            Name of the plane, as recorded.
        station : str
            As recorded; a station that is not known any more stands for its plane.

        Returns
        -------
        Station
            Of that name, or the first of the plane.
        """
        index = self.planes.index(plane)
        mine = [s for s in self.stations if s.plane_index == index]
        return next((s for s in mine if s.name == station), mine[0])

    def depth(self, cut: Cut, now: Station) -> DrilledDepth:
        """Return how a planned cut is drilled.

        Parameters
        ----------
        cut : Cut
            Planned.
        now : Station
            Its station with every hole made so far.

        Returns
        -------
        DrilledDepth
            Without drill and depth where the station is not measured.
        """
        place = self.places.get(cut.station)
        if place is None:
            return DrilledDepth(cut.diameter_mm, None)
        return depth_of(cut, place=place, station=now, correction_radius_mm=self.radii_mm[now.plane_index])

    def grams_of(self, cut: CutLine, *, what: str) -> float:
        """Return what a cut took, at the correction radius.

        Parameters
        ----------
        cut : CutLine
            With grams, or weighed chips, or drill and depth.
        what : str
            Which cut, for the refusal.

        Returns
        -------
        float
            Grams at the correction radius. [g]

        Raises
        ------
        RefusedError
            When chips or depth are given and the station is not measured, or the hole cannot be.
        """
        if cut.grams != 0.0:
            return cut.grams
        place = self.places.get(cut.station)
        radius_mm = self.radii_mm[self.planes.index(cut.plane)]
        if cut.chips_g is not None:
            if place is None or cut.diameter_mm is None:
                return cut.chips_g
            try:
                hole = depth_for_grams(place.shape(cut.diameter_mm), grams=cut.chips_g)
            except QuantityError:
                return cut.chips_g * place.outer_radius_mm / radius_mm
            return hole.amount_g_mm / radius_mm
        if cut.diameter_mm is None or cut.depth_mm is None:
            raise RefusedError(what, found="0.0 g, no chips, no drill and depth", wanted="one of them")
        if place is None:
            raise RefusedError(
                what,
                found=f"a hole of {cut.diameter_mm:g} x {cut.depth_mm:g} mm where no station is measured",
                wanted="grams",
                do="type the grams, or enter the stations first",
            )
        try:
            amount = hole_of_depth(place.shape(cut.diameter_mm), depth_mm=cut.depth_mm).amount_g_mm
            if cut.from_depth_mm > 0.0:
                amount -= hole_of_depth(place.shape(cut.diameter_mm), depth_mm=cut.from_depth_mm).amount_g_mm
        except QuantityError as fault:
            raise RefusedError(f"{what}, {fault.quantity}", found=str(fault.found), wanted=fault.wanted) from fault
        return amount / radius_mm

    def slug_words(self, station: str, net_g: float) -> str:
        """Return the slug of heavy metal that is worth so much.

        Parameters
        ----------
        station : str
            Where it goes.
        net_g : float
            What it has to weigh more than the metal it replaces, at the correction radius. [g]

        Returns
        -------
        str
            Drill and length; empty where the station is not measured or no single slug is enough.
        """
        place = self.places.get(station)
        if place is None:
            return ""
        radius_mm = self.radii_mm[place.plane_index]
        for diameter in sorted(place.drills_mm):
            shape = place.shape(diameter, slug_density_g_cm3=HEAVY_METAL_G_CM3)
            try:
                hole = depth_for_amount(shape, amount_g_mm=net_g * radius_mm)
            except QuantityError:
                continue
            return (
                f"a slug of {diameter:g} x {hole.depth_mm:.1f} mm at {HEAVY_METAL_G_CM3:g} g/cm³, flush with the rim; "
                "weigh it, and hold it as the engine maker says"
            )
        return ""


def crank_stations(spec: JobSpec, measured: StationSet | None) -> CrankStations:
    """Return the stations to plan with.

    Parameters
    ----------
    spec : JobSpec
        The job.
    measured : StationSet | None
        Its measured stations; None takes each plane as one station, as intake told it.

    Returns
    -------
    CrankStations
        At least one a plane.

    Raises
    ------
    RefusedError
        When a measured station cannot be.
    """
    names = tuple(plane.name for plane in spec.cut_planes)
    radii = tuple(plane.radius_mm for plane in spec.cut_planes)
    if measured is None:
        stations = tuple(
            Station(
                plane.name,
                index,
                tuple(1.0 + 0j if other == index else 0j for other in range(len(names))),
                centre_deg=plane.centre_deg,
                arc_deg=plane.arc_deg,
                most_g_per_hole=MOST_G_PER_HOLE,
            )
            for index, plane in enumerate(spec.cut_planes)
        )
        return CrankStations(stations, {}, names, radii)
    places = [
        CounterweightPlace(
            name=s.name,
            plane_index=names.index(s.plane),
            position_mm=s.position_mm,
            outer_radius_mm=s.outer_radius_mm,
            drills_mm=s.drills_mm,
            most_depth_mm=s.most_depth_mm,
            centre_deg=s.centre_deg,
            arc_deg=s.arc_deg,
            wall_mm=s.wall_mm,
            keep_outs=tuple(KeepOut(k.centre_deg, k.half_width_deg, k.what) for k in s.keep_outs),
            holes=tuple(
                MadeHole(angle_deg=h.angle_deg, diameter_mm=h.diameter_mm, depth_mm=h.depth_mm) for h in s.holes
            ),
        )
        for s in measured.stations
    ]
    planes = PlaneGeometry(positions_mm=tuple(p.position_mm for p in spec.cut_planes), radii_mm=radii)
    try:
        stations = stations_from(places, planes)
    except QuantityError as fault:
        raise RefusedError(fault.quantity, found=str(fault.found), wanted=fault.wanted) from fault
    return CrankStations(stations, {place.name: place for place in places}, names, radii)

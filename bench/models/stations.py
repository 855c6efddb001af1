"""Where metal may be taken from a crank: measured once a crank type, kept with the job and as a template."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from bench.models.job import Finite, JobSpec, Name, Positive, Value, Words

NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
MOST_STATIONS = 16


class StationHole(Value):
    """A hole that is there before the first cut of this job.

    Attributes
    ----------
    angle_deg : float
        Where, from the mark. [deg]
    diameter_mm, depth_mm : float
        The hole. [mm]
    """

    angle_deg: Finite
    diameter_mm: Positive
    depth_mm: Positive


class StationKeepOut(Value):
    """What must not be touched: an oil hole, a fillet.

    Attributes
    ----------
    centre_deg : float
        Its middle, from the mark. [deg]
    half_width_deg : float
        From its middle to its edge. [deg]
    what : str
        In words.
    """

    centre_deg: Finite
    half_width_deg: NotNegative
    what: Words = ""


class CrankStation(Value):
    """A place on a counterweight where a drill can stand.

    Attributes
    ----------
    name : str
        What the person calls it.
    plane : str
        Name of the correction plane it counts to.
    position_mm : float
        Along the axis, from the front plane. [mm]
    outer_radius_mm : float
        Where a hole starts. [mm]
    centre_deg : float | None
        Middle of the metal, from the mark; None when it goes all the way round. [deg]
    arc_deg : float
        Width of the metal from edge to edge. [deg]
    drills_mm : tuple[float, ...]
        Drills to hand. [mm]
    most_depth_mm : float
        Depth limit, from the crankshaft's maker or a qualified machinist. [mm]
    wall_mm : float
        Least metal between two holes, and between a hole and an edge. [mm]
    keep_outs, holes : tuple
        What must not be touched, and holes that are there.
    """

    name: Name
    plane: Name
    position_mm: Finite
    outer_radius_mm: Positive
    centre_deg: Finite | None = None
    arc_deg: Annotated[float, Field(gt=0, le=360)] = 360.0
    drills_mm: Annotated[tuple[Positive, ...], Field(min_length=1, max_length=8)]
    most_depth_mm: Positive
    wall_mm: NotNegative = 3.0
    keep_outs: Annotated[tuple[StationKeepOut, ...], Field(max_length=32)] = ()
    holes: Annotated[tuple[StationHole, ...], Field(max_length=32)] = ()


class StationSet(Value):
    """All stations of a crank type.

    Attributes
    ----------
    crank_type : str
        What kind of crank they were measured on.
    measured : bool
        Measured on the crank; False when taken from a drawing or by eye.
    stations : tuple[CrankStation, ...]
        At least one a plane.
    """

    crank_type: Name
    measured: bool = False
    stations: Annotated[tuple[CrankStation, ...], Field(min_length=1, max_length=MOST_STATIONS)]

    @model_validator(mode="after")
    def _names_are_unique(self) -> StationSet:
        names = [s.name for s in self.stations]
        if len(names) != len(set(names)):
            raise ValueError(f"two stations of one name in {names}; wanted each name once")
        return self

    def what_does_not_fit(self, spec: JobSpec) -> str:
        """Return why these stations cannot be those of a job.

        Parameters
        ----------
        spec : JobSpec
            The job.

        Returns
        -------
        str
            In words; empty when they fit.
        """
        planes = [plane.name for plane in spec.cut_planes]
        for station in self.stations:
            if station.plane not in planes:
                return f"station {station.name}: plane '{station.plane}'; wanted {' or '.join(planes)}"
        missing = [name for name in planes if all(s.plane != name for s in self.stations)]
        return f"no station in plane {missing[0]}; wanted at least one" if missing else ""

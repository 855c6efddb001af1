"""How far the geometry's answer of a rotor is trusted before the first cut has been answered."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.computation.stations import Station

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Trust:
    """Standard deviations of the answer that geometry gives, as shares of a station's effect on its own plane.

    Attributes
    ----------
    own : float
        Size of the effect on the own plane.
    turned_deg : float
        Direction of the effect on the own plane. [deg]
    cross : float
        Effect on another plane, along the cut.
    cross_turned : float
        Effect on another plane, across the cut.
    shared : float
        How much of the size is the same for stations of one plane (correlation); by the lever rule the direction is.
    doubt : float
        How many times less the figures above are trusted until a first answer has tested them; 1 for none.
    cross_shared : float | None
        As `shared`, for the effect on another plane, by the lever rule; None where it is the same.
    planned : Trust | None
        What the planner goes by instead, for the sake of care; None where it is the same.
    machine : float
        Gain of the machine, plane by plane the same for all stations.
    machine_turned_deg : float
        Phase of the machine, likewise. [deg]

    Notes
    -----
    Source: our own simulation study; the figures are judgement, not measured.
    """

    own: float = 0.15
    turned_deg: float = 2.3
    cross: float = 0.12
    cross_turned: float = 0.02
    shared: float = 0.85
    doubt: float = 1.08
    cross_shared: float | None = None
    planned: Trust | None = None
    machine: float = 0.0
    machine_turned_deg: float = 0.0

    @property
    def knows_directions(self) -> bool:
        """Whether the direction of an effect on another plane is surer than its size: the lever rule holds then."""
        return self.cross_turned < self.cross


BY_GEOMETRY = Trust(shared=0.9, planned=Trust(own=0.24, cross=0.095, shared=0.9, cross_shared=0.96))
"""Stations entered from a drawing or by eye.

The planner trusts the own effect less than drawings deserve, and the effect on another plane more: what carries over
is bounded by where a hole can be along the shaft and has no long tails, while a wrong radius or scale has. Two holes
of one end differ by a step along the shaft that is plain to see, so they share most of what is unsure.
"""

_AS_MEASURED = Trust(
    own=0.05,
    turned_deg=1.5,
    cross=0.02,
    cross_turned=0.01,
    shared=0.5,
    doubt=1.0,
    machine=0.01,
    machine_turned_deg=1.0,
)
MEASURED = replace(_AS_MEASURED, planned=replace(_AS_MEASURED, shared=0.85, cross_shared=0.96))
"""Stations measured on the crank, or the same crank type balanced here before.

So well known, what the machine's own gain and phase leave open counts: it is common to all stations, and so larger
where both ends pull the same way. Where the geometry is only drawn it does not show beside the rest.
"""

UNKNOWN = Trust(own=1.0, turned_deg=60.0, cross=1.0, cross_turned=1.0, shared=0.0, doubt=1.0)
"""Nothing known: a first cut is a trial weight."""


def prior_covariance(stations: Sequence[Station], trust: Trust, *, planes: int) -> NDArray[np.float64]:
    """Return the covariance of all effects, real and imaginary parts in turn, station after station.

    Parameters
    ----------
    stations : Sequence[Station]
        The stations.
    trust : Trust
        How far their effects are trusted.
    planes : int
        Number of planes.

    Returns
    -------
    numpy.ndarray
        Square, 2 planes x stations wide: by the lever rule where a trust knows directions, else every effect apart.
        [(g/g)^2]
    """
    import numpy as np

    if trust.knows_directions:
        return lever_covariance(stations, trust)
    size = 2 * planes * len(stations)
    covariance = np.zeros((size, size))
    for s, station in enumerate(stations):
        for other, second in enumerate(stations):
            if station.plane_index != second.plane_index:
                continue
            for p in range(planes):
                tie = 1.0 if s == other else trust.shared
                block = tie * _deviation(station, trust, p) @ _deviation(second, trust, p).T
                row, column = 2 * (s * planes + p), 2 * (other * planes + p)
                covariance[row : row + 2, column : column + 2] = block
    return covariance


def lever_covariance(stations: Sequence[Station], trust: Trust) -> NDArray[np.float64]:
    """Return the covariance of all effects of a rigid rotor, real and imaginary parts in turn, station after station.

    Parameters
    ----------
    stations : Sequence[Station]
        The stations.
    trust : Trust
        How far their effects are trusted.

    Returns
    -------
    numpy.ndarray
        Square, 2 planes x stations wide. [(g/g)^2]

    Notes
    -----
    Source: the lever rule. A hole that takes more off its own plane than was thought takes as much more off the others,
    and is turned alike for all; what a place along the shaft leaves open comes on top of that, one plane at a time. A
    machine that shows a plane too large, or turned, does so whichever station a hole is at.
    """
    import numpy as np

    effects = np.array([station.effect for station in stations], dtype=np.complex128)
    planes = sorted({station.plane_index for station in stations})
    ends = [[i for i, station in enumerate(stations) if station.plane_index == p] for p in planes]
    strays: list[NDArray[np.complex128]] = []

    def stray(places: Sequence[int], size: complex, far: int | None = None) -> None:
        column = np.zeros_like(effects)
        for i in places:
            if far is None:
                column[i] = size * effects[i]
            else:
                column[i, far] = size * effects[i, stations[i].plane_index]
        strays.append(column.ravel())

    for plane in range(effects.shape[1]):
        for size in (trust.machine, 1j * math.radians(trust.machine_turned_deg)):
            column = np.zeros_like(effects)
            column[:, plane] = size * effects[:, plane]
            strays.append(column.ravel())
    cross_shared = trust.shared if trust.cross_shared is None else trust.cross_shared
    for end in ends:
        stray(end, 1j * math.radians(trust.turned_deg))
        for places, own, cross in (
            (end, trust.shared, cross_shared),
            *(([i], 1.0 - trust.shared, 1.0 - cross_shared) for i in end),
        ):
            stray(places, trust.own * math.sqrt(own))
            for far in range(effects.shape[1]):
                if far != stations[places[0]].plane_index:
                    stray(places, trust.cross * math.sqrt(cross), far)
                    stray(places, 1j * trust.cross_turned * math.sqrt(cross), far)
    columns = np.array(strays).view(np.float64)
    covariance: NDArray[np.float64] = columns.T @ columns
    return covariance


def _deviation(station: Station, trust: Trust, plane: int) -> NDArray[np.float64]:
    """Return the 2 x 2 matrix of deviations along and across the effect."""
    import numpy as np

    own = station.effect[station.plane_index]
    size = abs(own)
    unit = own / size
    if plane == station.plane_index:
        along, across = trust.own * size, math.radians(trust.turned_deg) * size
    else:
        along, across = trust.cross * size, trust.cross_turned * size
    return np.array([[unit.real * along, -unit.imag * across], [unit.imag * along, unit.real * across]])

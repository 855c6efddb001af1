"""A cut, and how far a real one strays from what was asked."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cut:
    """Metal taken away at a station.

    Attributes
    ----------
    station : str
        Name of the station.
    angle_deg : float
        Where the hole is. [deg]
    grams : float
        What goes, as grams at the correction radius; negative when heavy metal is put in. [g]
    diameter_mm : float | None
        The drill, where known. [mm]
    depth_mm : float | None
        Depth to go, where known. [mm]
    deepens : bool
        Whether a hole that is there is deepened.
    measured : bool
        Whether the chips were weighed, or the hole was measured afterwards.
    """

    station: str
    angle_deg: float
    grams: float
    diameter_mm: float | None = None
    depth_mm: float | None = None
    deepens: bool = False
    measured: bool = False

    @property
    def direction(self) -> complex:
        """Unit vector of the hole's angle."""
        return cmath.rect(1.0, math.radians(self.angle_deg))

    @property
    def taken(self) -> complex:
        """What goes, as a complex number. [g]."""
        return self.grams * self.direction


@dataclass(frozen=True, slots=True)
class CutScatter:
    """How far a cut strays, one standard deviation.

    Attributes
    ----------
    share : float
        Of the asked grams.
    grams : float
        Whatever the size. [g]
    angle_deg : float
        Of the angle. [deg]

    Examples
    --------
    >>> radial, tangential = CutScatter().variances(20.0)
    >>> round(radial, 4), round(tangential, 4)
    (0.3825, 0.2742)
    """

    share: float = 0.03
    grams: float = 0.15
    angle_deg: float = 1.5

    def variances(self, grams: float, *, deepens: bool = False) -> tuple[float, float]:
        """Return the variances of one cut along and across its direction.

        Parameters
        ----------
        grams : float
            What was asked. [g]
        deepens : bool
            Whether a hole that is there goes deeper: the drill follows it, and where it is was told by the last run.

        Returns
        -------
        tuple[float, float]
            Radial and tangential. [g^2]
        """
        radial = (self.share * grams) ** 2 + self.grams**2
        tangential = 0.0 if deepens else (math.radians(self.angle_deg) * grams) ** 2
        return radial, tangential


CHIPS_WEIGHED = CutScatter(share=0.01, grams=0.05, angle_deg=0.5)
"""Scatter of a cut whose chips were weighed and whose angle was measured afterwards."""

"""Which directions the cuts of one plane can reach, and the shortest margin that stays within them."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.stations import Station


@dataclass(frozen=True, slots=True)
class Reach:
    """The cone of vectors that non-negative cuts of one plane can add up to.

    Attributes
    ----------
    centre_deg : float
        Its middle. [deg]
    half_deg : float
        Half its width; 180 when every direction can be reached. [deg]
    """

    centre_deg: float
    half_deg: float

    @property
    def is_round(self) -> bool:
        """Whether every direction can be reached."""
        return self.half_deg >= 90.0

    @property
    def inward(self) -> tuple[complex, ...]:
        """Unit vectors square to both edges and along the middle, pointing inward; none for a round reach."""
        if self.is_round:
            return ()
        side = 90.0 - self.half_deg
        return tuple(cmath.rect(1.0, math.radians(self.centre_deg + turn)) for turn in (-side, 0.0, side))

    def nearest(self, wanted: complex) -> complex:
        """Return the vector of the cone that is nearest to a wanted one.

        Parameters
        ----------
        wanted : complex
            Any vector.

        Returns
        -------
        complex
            The vector itself when it is inside; 0 when nothing comes nearer.
        """
        if self.is_round or wanted == 0:
            return wanted
        turned = wanted * cmath.rect(1.0, -math.radians(self.centre_deg))
        off = math.degrees(cmath.phase(turned))
        if abs(off) <= self.half_deg:
            return wanted
        if abs(off) >= self.half_deg + 90.0:
            return 0j
        edge = cmath.rect(1.0, math.radians(self.centre_deg + math.copysign(self.half_deg, off)))
        return edge * (wanted * edge.conjugate()).real


def reach_of(stations: Sequence[Station]) -> Reach:
    """Return what the stations of one plane reach together.

    Parameters
    ----------
    stations : Sequence[Station]
        Stations of one plane, at least one.

    Returns
    -------
    Reach
        The hull of their arcs: everything but the widest gap between them, when that is over 180 degrees.

    Examples
    --------
    >>> reach_of([Station("front", 0, (1.0 + 0j,), centre_deg=90.0, arc_deg=120.0)])
    Reach(centre_deg=90.0, half_deg=60.0)
    """
    if any(s.is_round for s in stations):
        return Reach(0.0, 180.0)
    arcs = sorted(((s.centre_deg or 0.0) - s.arc_deg / 2.0) % 360.0 for s in stations)
    widths = {((s.centre_deg or 0.0) - s.arc_deg / 2.0) % 360.0: 0.0 for s in stations}
    for s in stations:
        start = ((s.centre_deg or 0.0) - s.arc_deg / 2.0) % 360.0
        widths[start] = max(widths[start], s.arc_deg)
    widest, after = -1.0, arcs[0]
    for start in arcs:
        # the gap that ends at this start: back to the nearest end of any arc
        gap = min((start - (other + widths[other])) % 360.0 for other in arcs)
        covered = any(0.0 < (start - other) % 360.0 <= widths[other] for other in arcs)
        if not covered and gap > widest:
            widest, after = gap, start
    if widest <= 180.0:
        return Reach(0.0, 180.0)
    half = (360.0 - widest) / 2.0
    return Reach((after + half) % 360.0, half)


def shortest_margin(normals: Sequence[complex], least: Sequence[float]) -> complex:
    """Return the shortest vector that lies at least so far along each of some directions.

    Parameters
    ----------
    normals : Sequence[complex]
        Unit vectors.
    least : Sequence[float]
        How far along each, negative where the vector may lie behind.

    Returns
    -------
    complex
        The vector; 0 when nothing is asked.

    Examples
    --------
    >>> shortest_margin([1 + 0j, 1j], [3.0, 4.0])
    (3+4j)
    """

    def fits(vector: complex) -> bool:
        return all((n.conjugate() * vector).real >= b - 1e-9 for n, b in zip(normals, least, strict=True))

    if fits(0j):
        return 0j
    candidates = [n * b for n, b in zip(normals, least, strict=True) if b > 0.0]
    for i, first in enumerate(normals):
        for j in range(i):
            second = normals[j]
            turn = (first.conjugate() * second).imag
            if abs(turn) > 1e-12:
                candidates.append(1j * (second * least[i] - first * least[j]) / -turn)
    return min((c for c in candidates if fits(c)), key=abs, default=0j)

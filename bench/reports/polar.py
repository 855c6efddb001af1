"""One polar picture a plane: where the excess mass was, run after run, and the circle it has to come into.

The radial scale is a square root, so that the first run and the tolerance circle are both seen. Zero is at the top
and angles grow to the left: counter-clockwise, seen from the front, as on the crank.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

RADIUS = 100.0
_STEPS = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)


@dataclass(frozen=True, slots=True)
class Spot:
    """One run in the picture.

    Attributes
    ----------
    x, y, label_x, label_y : float
        In drawing units, x to the right, y down.
    words : str
        The run's number; empty where many runs would write over each other.
    last : bool
        The newest run.
    """

    words: str
    x: float
    y: float
    label_x: float
    label_y: float
    last: bool


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle of one amount, and where its words stand."""

    words: str
    r: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class PolarPicture:
    """All that the template draws.

    Attributes
    ----------
    limit_r : float
        Radius of the tolerance circle, in drawing units.
    path : str
        Points of the line through all runs.
    arc : str
        SVG path of the arc where metal may go; empty when it may go anywhere.
    """

    plane: str
    rings: tuple[Ring, ...]
    limit_r: float
    spots: tuple[Spot, ...]
    path: str
    arc: str


def place(amount_g: float, angle_deg: float, *, full_g: float, radius: float = RADIUS) -> tuple[float, float]:
    """Return where an amount is drawn.

    Parameters
    ----------
    amount_g : float
        Excess mass at the correction radius. [g]
    angle_deg : float
        Where it is, counter-clockwise positive seen from the front. [deg]
    full_g : float
        Amount at the rim. [g]
    radius : float
        Of the rim, in drawing units.

    Returns
    -------
    tuple[float, float]
        x to the right and y down, from the middle.

    Examples
    --------
    >>> [round(v, 9) for v in place(25.0, 0.0, full_g=100.0)]
    [0.0, -50.0]
    """
    r = radius * math.sqrt(max(amount_g, 0.0) / full_g)
    turn = math.radians(angle_deg)
    return -r * math.sin(turn) + 0.0, -r * math.cos(turn) + 0.0


def polar_picture(
    *,
    plane: str,
    runs: Sequence[tuple[int, float, float]],
    limit_g: float,
    centre_deg: float | None = None,
    arc_deg: float = 360.0,
) -> PolarPicture:
    """Return the picture of one plane.

    Parameters
    ----------
    plane : str
        Its name.
    runs : Sequence[tuple[int, float, float]]
        Number, amount [g] and angle [deg] of each run, oldest first; runs that are no numbers are left out.
    limit_g : float
        Tolerance. [g]
    centre_deg : float | None
        Middle of the arc where metal may go. [deg]
    arc_deg : float
        Its width. [deg]

    Returns
    -------
    PolarPicture
        In drawing units.
    """
    good = [run for run in runs if math.isfinite(run[1]) and math.isfinite(run[2])]
    limit = limit_g if math.isfinite(limit_g) and limit_g > 0 else 0.0
    most = max([amount for _, amount, _ in good] + [limit, 0.05])
    full = most * 1.1
    points = [place(amount, turn, full_g=full) for _, amount, turn in good]
    return PolarPicture(
        plane=plane,
        rings=_rings(full, points),
        limit_r=RADIUS * math.sqrt(limit / full),
        spots=_spots([run[0] for run in good], points),
        path=" ".join(f"{x:.2f},{y:.2f}" for x, y in points),
        arc="" if centre_deg is None or arc_deg >= 360.0 else _arc(centre_deg, arc_deg),
    )


def _rings(full: float, points: Sequence[tuple[float, float]]) -> tuple[Ring, ...]:
    """Three or four rings, each well away from the next; their words stand on the emptiest of four diagonals."""
    chosen: list[float] = []
    for step in sorted((s for s in _STEPS if s < full), reverse=True):
        r = RADIUS * math.sqrt(step / full)
        if r > 20.0 and (not chosen or chosen[-1] - r > 24.0):
            chosen.append(r)

    def room(diagonal: float) -> float:
        words = [(r * math.sin(diagonal), -r * math.cos(diagonal)) for r in chosen]
        return min((_room(spot, points) for spot in words), default=0.0)

    best = max((math.radians(45.0 + 90.0 * k) for k in range(4)), key=room)
    return tuple(Ring(f"{(r / RADIUS) ** 2 * full:.3g}", r, r * math.sin(best), -r * math.cos(best)) for r in chosen)


def _spots(numbers: Sequence[int], points: Sequence[tuple[float, float]]) -> tuple[Spot, ...]:
    """Give each run a label beside its point, away from other points and labels; the newest chooses first."""
    taken = list(points)
    spots: list[Spot] = []
    for index in reversed(range(len(points))):
        x, y = points[index]
        places = [(x + 13.0 * math.cos(k * math.pi / 6), y + 13.0 * math.sin(k * math.pi / 6)) for k in range(12)]
        last = index == len(points) - 1
        if 3 <= index < len(points) - 3 and len(points) > 9:
            spots.append(Spot("", x, y, x, y, last=last))
            continue
        others = [p for i, p in enumerate(taken) if i != index]
        best = max(places, key=lambda p: (min(_room(p, others), 22.0), -math.hypot(*p)))
        taken.append(best)
        spots.append(Spot(str(numbers[index]), x, y, best[0], best[1], last=last))
    return tuple(reversed(spots))


def _room(spot: tuple[float, float], others: Sequence[tuple[float, float]]) -> float:
    return min((math.dist(spot, other) for other in others), default=math.inf)


def _arc(centre_deg: float, arc_deg: float) -> str:
    x1, y1 = place(1.0, centre_deg - arc_deg / 2, full_g=1.0, radius=RADIUS + 4)
    x2, y2 = place(1.0, centre_deg + arc_deg / 2, full_g=1.0, radius=RADIUS + 4)
    r = RADIUS + 4
    return f"M{x1:.2f},{y1:.2f} A{r:g},{r:g} 0 {int(arc_deg > 180)} 0 {x2:.2f},{y2:.2f}"

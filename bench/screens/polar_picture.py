"""A plane as a picture in a terminal: rings, the path of the spins, the tolerance zone, the next cut.

The radius is a square root of the amount, so that a tolerance of 1 g and a first spin of 86 g are both seen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from textual.content import Content

QUADRANTS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
ASCII_DOT = "."
CELL_RATIO = 2.0


@dataclass(frozen=True, slots=True)
class Mark:
    """Something at an amount and an angle.

    Attributes
    ----------
    amount_g : float
        How far out. [g]
    angle_deg : float
        Counter-clockwise from the right. [deg]
    text : str
        One or two characters.
    style : str
        A style of the theme.
    """

    amount_g: float
    angle_deg: float
    text: str
    style: str


@dataclass(frozen=True, slots=True)
class Arc:
    """Where metal may be taken.

    Attributes
    ----------
    centre_deg : float
        Middle. [deg]
    width_deg : float
        Whole width. [deg]
    """

    centre_deg: float
    width_deg: float


def radius_of(amount_g: float, *, full_g: float) -> float:
    """Return where an amount lies between middle (0) and rim (1).

    Parameters
    ----------
    amount_g : float
        Amount. [g]
    full_g : float
        Amount at the rim. [g]

    Returns
    -------
    float
        Square-root scale, at most 1.

    Examples
    --------
    >>> radius_of(25.0, full_g=100.0)
    0.5
    """
    return min(1.0, math.sqrt(max(0.0, amount_g) / full_g)) if full_g > 0 else 0.0


def full_scale(amounts: Sequence[float], *, limit_g: float) -> float:
    """Return the amount at the rim: a round number that holds everything.

    Parameters
    ----------
    amounts : Sequence[float]
        What is to be shown. [g]
    limit_g : float
        Tolerance. [g]

    Returns
    -------
    float
        1, 2 or 5 times a power of ten. [g]

    Examples
    --------
    >>> full_scale([69.5], limit_g=1.0)
    100.0
    """
    most = max([*amounts, 4.0 * limit_g, 1e-6]) * 1.05
    power = 10.0 ** math.floor(math.log10(most))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0) if step * power >= most)


def polar_picture(
    *,
    columns: int,
    rows: int,
    limit_g: float,
    marks: Sequence[Mark],
    arcs: Sequence[Arc] = (),
    ascii_only: bool = False,
) -> Content:
    """Return the picture.

    Parameters
    ----------
    columns, rows : int
        The box in cells.
    limit_g : float
        Tolerance, drawn as a zone of its own background. [g]
    marks : Sequence[Mark]
        Drawn in order; later ones lie on top.
    arcs : Sequence[Arc]
        Where metal may be taken: a double rim.
    ascii_only : bool
        For consoles without quadrant blocks.

    Returns
    -------
    Content
        `rows` lines.
    """
    full = full_scale([mark.amount_g for mark in marks], limit_g=limit_g)
    half_w, half_h = (columns - 1) / 2.0, (rows - 1) / 2.0
    reach = min(half_w / CELL_RATIO, half_h)
    tolerance = radius_of(limit_g, full_g=full) * reach

    def ring(x: float, y: float) -> bool:
        far = math.hypot(x, y)
        step = 0.30
        if abs(far - reach) < step:
            return True
        angle = math.degrees(math.atan2(y, x))
        return abs(far - reach + 1.0) < step and any(
            abs((angle - arc.centre_deg + 180.0) % 360.0 - 180.0) <= arc.width_deg / 2 for arc in arcs
        )

    texts: dict[tuple[int, int], tuple[str, str]] = {}
    for mark in marks:
        out = radius_of(mark.amount_g, full_g=full) * reach
        column = round(half_w + CELL_RATIO * out * math.cos(math.radians(mark.angle_deg)))
        row = round(half_h - out * math.sin(math.radians(mark.angle_deg)))
        for offset, char in enumerate(mark.text):
            texts[min(rows - 1, max(0, row)), min(columns - 1, max(0, column + offset))] = (char, mark.style)
    lines: list[Content] = []
    for row in range(rows):
        parts: list[Content] = []
        for column in range(columns):
            x, y = (column - half_w) / CELL_RATIO, half_h - row
            inside = math.hypot(x, y) <= max(tolerance, 0.5)
            char, style = texts.get((row, column), ("", ""))
            if not char:
                bits = sum(
                    1 << (2 * j + i)
                    for j in (0, 1)
                    for i in (0, 1)
                    if ring(x + (i - 0.5) / 2 / CELL_RATIO, y - (j - 0.5) / 2)
                )
                char = (ASCII_DOT if bits else " ") if ascii_only else QUADRANTS[bits]
                if char == " " and abs(y) < 0.5 and abs(x) < 0.3:
                    char = "+"
                style = "$foreground-muted"
            if inside:
                style += " on $success-muted"
                char = char if char != " " else ("·" if not ascii_only else ":")
            parts.append(Content.styled(char, style))
        lines.append(Content("").join(parts))
    return Content("\n").join(lines)

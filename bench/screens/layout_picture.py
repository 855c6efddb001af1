"""A crank seen from the front: its pins on their circle, the banks as lines; and a side view of the throws."""

from __future__ import annotations

import math

from textual.content import Content

from bench.models.job import EngineLayout
from bench.screens.dots import DotBuffer
from bench.screens.glyphs import GlyphSet
from bench.screens.safe_text import clipped

CELL_RATIO = 2.0
PIN_PART = 0.62
"""Radius of the pins' circle as a part of the picture's."""


def front_rows(layout: EngineLayout, *, width: int, height: int, glyphs: GlyphSet) -> list[Content]:
    """Return the crank seen from the front: zero at the top, angles to the left, banks leaning from the top.

    Parameters
    ----------
    layout : EngineLayout
        The layout.
    width, height : int
        The box in cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    list[Content]
        `height` lines.
    """
    dots = DotBuffer(width, height, glyphs.dots)
    middle = width / 2.0, height / 2.0
    reach = max(1.0, min((width - 4) / CELL_RATIO, height - 1) / 2.0)

    def at(part: float, angle_deg: float) -> tuple[float, float]:
        turn = math.radians(angle_deg)
        across = math.sin(turn) * part * reach * CELL_RATIO
        return middle[0] - across, middle[1] - math.cos(turn) * part * reach

    for degree in range(0, 360, 6):
        dots.dot(*at(PIN_PART, float(degree)), "$faint")
    texts: dict[tuple[int, int], tuple[str, str]] = {}
    for angle in _banks(layout):
        dots.line(at(PIN_PART, angle), at(1.0, angle), "$accent")
    pins: dict[float, list[int]] = {}
    for throw in layout.throws:
        dots.line(middle, at(PIN_PART, throw.pin_deg), "$ink")
        pins.setdefault(throw.pin_deg % 360.0, []).append(throw.number)
    for angle, numbers in pins.items():
        x, y = at(PIN_PART, angle)
        label = ",".join(map(str, numbers))
        column = int(min(max(x - len(label) / 2.0, 0.0), max(width - len(label), 0)))
        for offset, char in enumerate(label):
            texts[int(min(max(y, 0), height - 1)), column + offset] = (char, "bold reverse $accent")
    rows: list[Content] = []
    for row in range(height):
        parts: list[Content] = []
        for column in range(width):
            char, style = texts.get((row, column)) or dots.cell(column, row)
            parts.append(Content.styled(char, style) if style else Content(char))
        rows.append(Content("").join(parts))
    return rows


def _banks(layout: EngineLayout) -> tuple[float, ...]:
    """Return the directions of the banks, seen from the front, in degrees."""
    if not layout.throws:
        return ()
    half = layout.bank_deg / 2.0
    return (half, -half) if half else (0.0,)


def side_rows(layout: EngineLayout, *, width: int) -> list[str]:
    """Return the throws front to back, with the cylinders on each.

    Parameters
    ----------
    layout : EngineLayout
        The layout.
    width : int
        Room in cells.

    Returns
    -------
    list[str]
        A line a throw.
    """

    def told(words: str) -> list[str]:
        return [
            f"throw {throw.number} at {throw.pin_deg:g}°: {words} {' and '.join(map(str, throw.cylinders))}"
            for throw in layout.throws
        ]

    rows = told("cylinder")
    if any(len(row) > width for row in rows):
        rows = told("cyl.")
    return [clipped(row, width) for row in rows]

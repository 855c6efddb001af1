"""A plane as a picture in a terminal: the mark at the top, the path of the spins, the tolerance zone, the next cut.

The radius is a square root of the amount, so that a tolerance of 1 g and a first spin of 86 g are both seen.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from textual.content import Content

from bench.screens.dots import DotBuffer
from bench.screens.glyphs import GlyphSet

CELL_RATIO = 2.0
"""Height of a character cell over its width."""

_RIM_ROOM = 1.0
_HALF_LINE = 0.28
"""Half of a line's width in rows: about half a dot."""
_RING, _PATH, _ARC = "$faint", "$ink", "$accent"
_LABEL_SHIFT = {0: 0.0, 90: 2.0, 180: 1.0, 270: 0.0}


@dataclass(frozen=True, slots=True)
class Stop:
    """A run, or a cut, at an amount and an angle.

    Attributes
    ----------
    amount_g : float
        How far out. [g]
    angle_deg : float
        Counter-clockwise from the mark, seen from the front. [deg]
    label : str
        One or two characters.
    """

    amount_g: float
    angle_deg: float
    label: str


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


@dataclass(frozen=True, slots=True)
class PolarScene:
    """What is to be seen of a plane.

    Attributes
    ----------
    limit_g : float
        Tolerance. [g]
    path : tuple[Stop, ...]
        The runs in order.
    cuts : tuple[Stop, ...]
        The next cuts; drawn at the rim.
    arcs : tuple[Arc, ...]
        Where metal may be taken; empty for anywhere.
    holes : tuple[float, ...]
        Where holes are. [deg]
    keep_outs : tuple[Arc, ...]
        What must not be touched.
    """

    limit_g: float
    path: tuple[Stop, ...] = ()
    cuts: tuple[Stop, ...] = ()
    arcs: tuple[Arc, ...] = ()
    holes: tuple[float, ...] = ()
    keep_outs: tuple[Arc, ...] = ()


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
        What is to be shown; what is not finite is passed over. [g]
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
    most = max([*(a for a in amounts if math.isfinite(a)), 4.0 * limit_g, 1e-6]) * 1.05
    power = 10.0 ** math.floor(math.log10(most))
    return next(step * power for step in (1.0, 2.0, 5.0, 10.0, 20.0) if step * power >= most)


class _Face:
    """Places of amounts and angles on a grid of cells: the mark at the top, angles to the left."""

    def __init__(self, *, width: int, height: int, full_g: float, ratio: float) -> None:
        self.middle = width // 2 + 0.5, height // 2 + 0.5
        self.reach = max(0.5, min(((width - 1) // 2 - 2 * _RIM_ROOM) / ratio, (height - 1) // 2 - _RIM_ROOM / 2))
        self.full_g = full_g
        self.ratio = ratio

    def at(self, part: float, angle_deg: float) -> tuple[float, float]:
        """Return the place of a part of the reach at an angle."""
        turn = math.radians(angle_deg)
        across = -math.sin(turn) * part * self.reach * self.ratio
        up = math.cos(turn) * part * self.reach
        return self.middle[0] + across, self.middle[1] - up

    def place(self, stop: Stop) -> tuple[float, float]:
        """Return the place of a stop."""
        return self.at(radius_of(stop.amount_g, full_g=self.full_g), stop.angle_deg)

    def far(self, column: int, row: int) -> float:
        """Return how far a cell's middle is from the centre, 1 at the rim."""
        across = (column + 0.5 - self.middle[0]) / self.ratio
        return math.hypot(across, row + 0.5 - self.middle[1]) / self.reach


def _rings(face: _Face, dots: DotBuffer, scene: PolarScene) -> None:
    arcs: list[tuple[float, float]] = []
    for x, y in dots.centres():
        across, up = (x - face.middle[0]) / face.ratio, face.middle[1] - y
        far, angle = math.hypot(across, up), math.degrees(math.atan2(-across, up))
        if abs(far - face.reach) <= _HALF_LINE:
            dots.dot(x, y, _RING)
        elif (
            face.reach - 1.0 < far < face.reach
            and _on_an_arc(angle, scene.arcs)
            and not _on_an_arc(angle, scene.keep_outs)
        ):
            arcs.append((x, y))
    # where a cell holds both, the metal is what is seen, above and below alike
    for x, y in arcs:
        dots.dot(x, y, _ARC)
    inner = radius_of(0.25 * face.full_g, full_g=face.full_g)
    for i in range(0, 360, 12):
        dots.dot(*face.at(inner, float(i)), _RING)


def _on_an_arc(angle_deg: float, arcs: Sequence[Arc]) -> bool:
    return any(abs((angle_deg - arc.centre_deg + 180.0) % 360.0 - 180.0) <= arc.width_deg / 2.0 for arc in arcs)


def _texts(
    face: _Face, scene: PolarScene, path: Sequence[Stop], glyphs: GlyphSet, *, width: int, height: int
) -> dict[tuple[int, int], tuple[str, str]]:
    texts: dict[tuple[int, int], tuple[str, str]] = {}

    def put(where: tuple[float, float], text: str, style: str) -> None:
        column = int(min(max(where[0], 0.0), max(width - len(text), 0)))
        row = int(min(max(where[1], 0.0), height - 1.0))
        for offset, char in enumerate(text):
            texts[row, column + offset] = (char, style)

    for angle, shift in _LABEL_SHIFT.items():
        x, y = face.at(1.0 + 0.6 / face.reach, angle)
        put((x - shift, y), str(angle), _RING)
    put(face.middle, "+", _RING)
    for stop in path[:-1]:
        put(face.place(stop), stop.label, "bold $ink")
    for stop in path[-1:]:
        put(face.place(stop), stop.label, "bold reverse $accent")
    inner = max(0.3, 1.0 - 0.75 / face.reach)
    for hole_deg in scene.holes:
        put(face.at(inner, hole_deg), glyphs.hole, "bold $accent")
    for keep in scene.keep_outs:
        put(face.at(inner, keep.centre_deg), glyphs.keep_out, "bold $ask")
    for cut in scene.cuts:
        if math.isfinite(cut.angle_deg):
            put(face.at(1.0, cut.angle_deg), glyphs.cut, "bold $bad")
    return texts


def polar_rows(
    scene: PolarScene, *, width: int, height: int, glyphs: GlyphSet, cell_ratio: float = CELL_RATIO
) -> list[Content]:
    """Return the picture, a line a row.

    Parameters
    ----------
    scene : PolarScene
        What is to be seen.
    width, height : int
        The box in cells.
    glyphs : GlyphSet
        What the console can draw.
    cell_ratio : float
        Height of a cell over its width.

    Returns
    -------
    list[Content]
        `height` lines of `width` cells.
    """
    path = [stop for stop in scene.path if math.isfinite(stop.amount_g) and math.isfinite(stop.angle_deg)]
    full = full_scale([stop.amount_g for stop in path], limit_g=scene.limit_g)
    face = _Face(width=width, height=height, full_g=full, ratio=cell_ratio)
    dots = DotBuffer(width, height, glyphs.dots)
    _rings(face, dots, scene)
    for before, after in pairwise(path):
        dots.line(face.place(before), face.place(after), _PATH)
    texts = _texts(face, scene, path, glyphs, width=width, height=height)
    zone = max(radius_of(scene.limit_g, full_g=full), 0.6 / face.reach)
    rows: list[Content] = []
    for row in range(height):
        parts: list[Content] = []
        for column in range(width):
            char, style = texts.get((row, column), ("", ""))
            if not char:
                char, style = dots.cell(column, row)
            if face.far(column, row) <= zone:
                char = glyphs.zone if char == " " else char
                style = f"{style} on $zone".strip()
            parts.append(Content.styled(char, style) if style else Content(char))
        rows.append(Content("").join(parts))
    return rows

"""A buffer of dots that becomes characters: quadrants, braille, half blocks or plain signs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

_QUADRANT_CHARS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
_HALF_CHARS = " ▀▄█"
_BRAILLE_BITS = (0x01, 0x08, 0x02, 0x10, 0x04, 0x20, 0x40, 0x80)


def _quadrant(bits: int) -> str:
    return _QUADRANT_CHARS[bits]


def _half(bits: int) -> str:
    return _HALF_CHARS[bits]


def _one(bits: int) -> str:
    return "+" if bits else " "


def _braille(bits: int) -> str:
    code = sum(bit for place, bit in enumerate(_BRAILLE_BITS) if bits >> place & 1)
    return chr(0x2800 + code) if code else " "


@dataclass(frozen=True, slots=True)
class DotShape:
    """How many dots a character cell has and which character stands for them.

    Attributes
    ----------
    across, down : int
        Dots in a cell.
    char : Callable[[int], str]
        Character of a bit pattern, row by row, left to right from bit 0.
    """

    across: int
    down: int
    char: Callable[[int], str]


QUADRANTS: Final = DotShape(2, 2, _quadrant)
HALVES: Final = DotShape(1, 2, _half)
BRAILLE: Final = DotShape(2, 4, _braille)
ONES: Final = DotShape(1, 1, _one)


class DotBuffer:
    """Dots on a grid of character cells.

    Parameters
    ----------
    width : int
        Cells across.
    height : int
        Cells down.
    shape : DotShape
        Dots a cell.
    """

    def __init__(self, width: int, height: int, shape: DotShape) -> None:
        self.width = max(width, 0)
        self.height = max(height, 0)
        self.shape = shape
        self._bits = [[0] * self.width for _ in range(self.height)]
        self._style = [[""] * self.width for _ in range(self.height)]

    def dot(self, x: float, y: float, style: str) -> None:
        """Set the dot nearest to a point given in cells; points outside are left out.

        Parameters
        ----------
        x, y : float
            Place in cells from the top left.
        style : str
            Style of the cell it falls into; the last one wins.
        """
        column, row = int(x // 1), int(y // 1)
        if not (0 <= column < self.width and 0 <= row < self.height):
            return
        across = min(int((x - column) * self.shape.across), self.shape.across - 1)
        down = min(int((y - row) * self.shape.down), self.shape.down - 1)
        self._bits[row][column] |= 1 << (down * self.shape.across + across)
        self._style[row][column] = style

    def line(self, start: tuple[float, float], end: tuple[float, float], style: str) -> None:
        """Set the dots of a straight line.

        Parameters
        ----------
        start, end : tuple[float, float]
            Places in cells.
        style : str
            Style.
        """
        (x0, y0), (x1, y1) = start, end
        steps = max(int(abs(x1 - x0) * self.shape.across), int(abs(y1 - y0) * self.shape.down), 1)
        for i in range(steps + 1):
            part = i / steps
            self.dot(x0 + (x1 - x0) * part, y0 + (y1 - y0) * part, style)

    def centres(self) -> Iterator[tuple[float, float]]:
        """Give the middle of every dot, row by row.

        Yields
        ------
        tuple[float, float]
            In cells from the top left.
        """
        for down in range(self.height * self.shape.down):
            for across in range(self.width * self.shape.across):
                yield (across + 0.5) / self.shape.across, (down + 0.5) / self.shape.down

    def cell(self, column: int, row: int) -> tuple[str, str]:
        """Return a cell's character and style.

        Parameters
        ----------
        column, row : int
            Which cell.

        Returns
        -------
        tuple[str, str]
            A space and no style where nothing was set.
        """
        bits = self._bits[row][column]
        return self.shape.char(bits), self._style[row][column] if bits else ""

"""Digits that are read from across the room, of full and half blocks only: every console font has these."""

from __future__ import annotations

FONT = {
    "0": (14, 17, 19, 21, 25, 17, 14),
    "1": (4, 12, 4, 4, 4, 4, 14),
    "2": (14, 17, 1, 2, 4, 8, 31),
    "3": (31, 2, 4, 2, 1, 17, 14),
    "4": (2, 6, 10, 18, 31, 2, 2),
    "5": (31, 16, 30, 1, 1, 17, 14),
    "6": (6, 8, 16, 30, 17, 17, 14),
    "7": (31, 1, 2, 4, 8, 8, 8),
    "8": (14, 17, 17, 14, 17, 17, 14),
    "9": (14, 17, 17, 15, 1, 2, 12),
    "-": (0, 0, 0, 31, 0, 0, 0),
    "+": (0, 4, 4, 31, 4, 4, 0),
    ".": (0, 0, 0, 0, 0, 3, 3),
    " ": (0, 0, 0, 0, 0, 0, 0),
}
WIDTHS = {".": 2, " ": 2}
ROWS = 7


def _bits(char: str) -> list[list[bool]]:
    rows = FONT.get(char, FONT["-"])
    width = WIDTHS.get(char, 5)
    return [[bool(row >> (width - 1 - x) & 1) for x in range(width)] for row in rows]


def pixels_wide(text: str) -> int:
    """Return how many font pixels a text needs, gaps included.

    Parameters
    ----------
    text : str
        Digits, point, signs.

    Returns
    -------
    int
        At scale one.
    """
    return sum(WIDTHS.get(char, 5) + 1 for char in text) - 1 if text else 0


def fitting_scale(text: str, *, columns: int, rows: int) -> int:
    """Return the largest whole scale at which a text fits.

    Parameters
    ----------
    text : str
        Digits, point, signs.
    columns, rows : int
        The box in cells.

    Returns
    -------
    int
        0 when not even scale one fits.
    """
    wide = pixels_wide(text)
    return max(0, min(columns // wide if wide else 0, 2 * rows // ROWS))


def big_number(text: str, *, columns: int, rows: int) -> list[str]:
    """Return lines of blocks that show a text as large as the box allows.

    Parameters
    ----------
    text : str
        Digits, point, signs; anything else is drawn as a dash.
    columns, rows : int
        The box in cells.

    Returns
    -------
    list[str]
        At most `rows` lines; the plain text when blocks do not fit.
    """
    scale = fitting_scale(text, columns=columns, rows=rows)
    if scale == 0:
        return [text[:columns]]
    grid: list[list[bool]] = [[] for _ in range(ROWS * scale)]
    for index, char in enumerate(text):
        bits = _bits(char)
        for y, line in enumerate(grid):
            if index:
                line.extend([False] * scale)
            for bit in bits[y // scale]:
                line.extend([bit] * scale)
    if len(grid) % 2:
        grid.append([False] * len(grid[0]))
    lines: list[str] = []
    for top, bottom in zip(grid[::2], grid[1::2], strict=True):
        cells = zip(top, bottom, strict=True)
        lines.append("".join("█" if a and b else "▀" if a else "▄" if b else " " for a, b in cells).rstrip())
    return lines

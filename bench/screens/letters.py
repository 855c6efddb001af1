"""Letters of our own, drawn in pixels: a tall face of seven rows and a small face of five."""

from __future__ import annotations

from typing import Final

Glyph = tuple[str, ...]

_TALL_ROWS: Final = {
    "0": " ## /#  #/#  #/#  #/#  #/#  #/ ## ",
    "1": " #  /##  / #  / #  / #  / #  /### ",
    "2": " ## /#  #/   #/  # / #  /#   /####",
    "3": "### /   #/   #/ ## /   #/   #/### ",
    "4": "#  #/#  #/#  #/####/   #/   #/   #",
    "5": "####/#   /#   /### /   #/   #/### ",
    "6": " ## /#   /#   /### /#  #/#  #/ ## ",
    "7": "####/   #/   #/  # /  # / #  / #  ",
    "8": " ## /#  #/#  #/ ## /#  #/#  #/ ## ",
    "9": " ## /#  #/#  #/ ###/   #/   #/ ## ",
    "A": " ## /#  #/#  #/####/#  #/#  #/#  #",
    "B": "### /#  #/#  #/### /#  #/#  #/### ",
    "C": " ###/#   /#   /#   /#   /#   / ###",
    "D": "### /#  #/#  #/#  #/#  #/#  #/### ",
    "E": "####/#   /#   /### /#   /#   /####",
    "F": "####/#   /#   /### /#   /#   /#   ",
    "G": " ###/#   /#   /# ##/#  #/#  #/ ###",
    "H": "#  #/#  #/#  #/####/#  #/#  #/#  #",
    "I": "###/ # / # / # / # / # /###",
    "J": "   #/   #/   #/   #/   #/#  #/ ## ",
    "K": "#  #/#  #/# # /##  /# # /#  #/#  #",
    "L": "#   /#   /#   /#   /#   /#   /####",
    "M": "#   #/## ##/# # #/# # #/#   #/#   #/#   #",
    "N": "#  #/## #/## #/# ##/# ##/#  #/#  #",
    "O": " ### /#   #/#   #/#   #/#   #/#   #/ ### ",
    "P": "### /#  #/#  #/### /#   /#   /#   ",
    "Q": " ## /#  #/#  #/#  #/# ##/#  #/ ###",
    "R": "### /#  #/#  #/### /# # /#  #/#  #",
    "S": " ###/#   /#   / ## /   #/   #/### ",
    "T": "#####/  #  /  #  /  #  /  #  /  #  /  #  ",
    "U": "#  #/#  #/#  #/#  #/#  #/#  #/ ## ",
    "V": "#   #/#   #/#   #/ # # / # # / # # /  #  ",
    "W": "#   #/#   #/#   #/# # #/# # #/## ##/#   #",
    "X": "#   #/#   #/ # # /  #  / # # /#   #/#   #",
    "Y": "#   #/#   #/ # # /  #  /  #  /  #  /  #  ",
    "Z": "####/   #/  # / ## / #  /#   /####",
    " ": "  /  /  /  /  /  /  ",
    ".": " / / / / / /#",
    ",": "  /  /  /  /  / #/# ",
    ":": " / /#/ / /#/ ",
    "-": "   /   /   /###/   /   /   ",
    "+": "     /  #  /  #  /#####/  #  /  #  /     ",
    "/": "   #/   #/  # /  # / #  /#   /#   ",
    "°": "## /## /   /   /   /   /   ",
    "?": " ## /#  #/   #/  # / #  /    / #  ",
    "!": "#/#/#/#/#/ /#",
    "(": " #/# /# /# /# /# / #",
    ")": "# / #/ #/ #/ #/ #/# ",
    "%": "#  #/   #/  # / ## / #  /#   /#  #",
    "=": "   /   /###/   /###/   /   ",
    "'": "#/#/ / / / / ",
}

_SMALL_ROWS: Final = {
    "0": "###/# #/# #/# #/###",
    "1": " # /## / # / # /###",
    "2": "## /  #/ # /#  /###",
    "3": "###/  #/ ##/  #/###",
    "4": "# #/# #/###/  #/  #",
    "5": "###/#  /###/  #/## ",
    "6": "###/#  /###/# #/###",
    "7": "###/  #/ # / # / # ",
    "8": "###/# #/###/# #/###",
    "9": "###/# #/###/  #/###",
    "A": " # /# #/###/# #/# #",
    "B": "## /# #/## /# #/## ",
    "C": " ##/#  /#  /#  / ##",
    "D": "## /# #/# #/# #/## ",
    "E": "###/#  /## /#  /###",
    "F": "###/#  /## /#  /#  ",
    "G": " ##/#  /# #/# #/ ##",
    "H": "# #/# #/###/# #/# #",
    "I": "#/#/#/#/#",
    "J": "  #/  #/  #/# #/ # ",
    "K": "# #/# #/## /# #/# #",
    "L": "#  /#  /#  /#  /###",
    "M": "#   #/## ##/# # #/#   #/#   #",
    "N": "#  #/## #/# ##/#  #/#  #",
    "O": " # /# #/# #/# #/ # ",
    "P": "## /# #/## /#  /#  ",
    "Q": " # /# #/# #/## / ##",
    "R": "## /# #/## /# #/# #",
    "S": " ##/#  / # /  #/## ",
    "T": "###/ # / # / # / # ",
    "U": "# #/# #/# #/# #/###",
    "V": "# #/# #/# #/# #/ # ",
    "W": "#   #/#   #/# # #/## ##/#   #",
    "X": "# #/# #/ # /# #/# #",
    "Y": "# #/# #/ # / # / # ",
    "Z": "###/  #/ # /#  /###",
    " ": " / / / / ",
    ".": " / / / /#",
    ",": "  /  /  / #/# ",
    ":": " /#/ /#/ ",
    "-": "  /  /##/  /  ",
    "+": "   / # /###/ # /   ",
    "/": "  #/  #/ # /#  /#  ",
    "°": "##/##/  /  /  ",
    "?": "## /  #/ # /   / # ",
    "!": "#/#/#/ /#",
    "(": " #/# /# /# / #",
    ")": "# / #/ #/ #/# ",
    "%": "# #/  #/ # /#  /# #",
    "=": "  /##/  /##/  ",
    "'": "#/#/ / / ",
}


def _face(rows: dict[str, str]) -> dict[str, Glyph]:
    return {char: tuple(drawing.split("/")) for char, drawing in rows.items()}


TALL: Final[dict[str, Glyph]] = _face(_TALL_ROWS)
SMALL: Final[dict[str, Glyph]] = _face(_SMALL_ROWS)
_SAME = {"−": "-", "–": "-", "×": "X", "Ø": "0", "…": "."}


def pixels(text: str, face: dict[str, Glyph]) -> list[str] | None:
    """Return a text as rows of pixels, "#" set and space not set.

    Parameters
    ----------
    text : str
        Letters of any case.
    face : dict[str, Glyph]
        `TALL` or `SMALL`.

    Returns
    -------
    list[str] or None
        One row a pixel row; None when the face lacks a letter.
    """
    rows = [""] * len(face["0"])
    for place, char in enumerate(text):
        glyph = face.get(_SAME.get(char, char.upper()))
        if glyph is None:
            return None
        gap = " " if place else ""
        rows = [row + gap + line for row, line in zip(rows, glyph, strict=True)]
    return rows


def scaled(rows: list[str], times: int) -> list[str]:
    """Return pixel rows made larger.

    Parameters
    ----------
    rows : list[str]
        Pixel rows.
    times : int
        Whole factor.

    Returns
    -------
    list[str]
        Pixel rows.
    """
    return ["".join(char * times for char in row) for row in rows for _ in range(times)]


def half_blocks(rows: list[str], *, blocks: bool = True) -> list[str]:
    """Return pixel rows as lines of characters, two pixel rows a line.

    Parameters
    ----------
    rows : list[str]
        Pixel rows.
    blocks : bool
        With half and full blocks; otherwise one pixel row a line, in "#".

    Returns
    -------
    list[str]
        Lines of one width.
    """
    if not blocks:
        return rows
    width = max((len(row) for row in rows), default=0)
    even = [row.ljust(width) for row in rows]
    if len(even) % 2:
        even.append(" " * width)
    lines: list[str] = []
    for upper, lower in zip(even[::2], even[1::2], strict=True):
        lines.append(
            "".join(
                "█" if u == "#" and b == "#" else "▀" if u == "#" else "▄" if b == "#" else " "
                for u, b in zip(upper, lower, strict=True)
            )
        )
    return lines

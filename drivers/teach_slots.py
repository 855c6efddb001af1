"""Lines of one form, laid over each other: what stays becomes letters of a template, what changes a field."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Literal

from drivers.teach_states import UNIT_WORDS
from drivers.teach_tokens import Token

Group = Literal["rest", "tared", "moving"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A token as the overlay sees it.

    Attributes
    ----------
    kind : str
        "number", "digits", "text" or "value".
    text : str
        The characters.
    start : int
        First column.
    end : int
        Column behind the last.
    """

    kind: Literal["number", "digits", "text", "value"]
    text: str
    start: int
    end: int

    @property
    def key(self) -> str:
        """What makes two pieces alike: numbers, signs, units and other words are, marks are themselves."""
        if self.kind != "text":
            return self.kind
        if self.text in {"+", "-"}:
            return "sign"
        if self.text.lower() in UNIT_WORDS and self.text != "G":
            return "unit"
        return "word" if self.text.isalpha() else self.text


@dataclass(frozen=True)
class Row:
    """One line as pieces.

    Attributes
    ----------
    group : Group
        Which step it comes from.
    line : str
        The line.
    pieces : list[Piece]
        From left to right.
    """

    group: Group
    line: str
    pieces: list[Piece]


@dataclass(frozen=True)
class Column:
    """What stands at one place in all lines.

    Attributes
    ----------
    cells : list[Piece | None]
        Line by line; None where the line has nothing there.
    """

    cells: list[Piece | None]

    @property
    def kind(self) -> str:
        """The kind of its pieces; "mixed" when they differ."""
        kinds = {cell.kind for cell in self.cells if cell is not None}
        if kinds == {"number", "digits"}:
            return "number"
        return kinds.pop() if len(kinds) == 1 else "mixed"

    @property
    def texts(self) -> set[str]:
        """Everything that stands there; an empty text where a line has nothing."""
        return {cell.text if cell is not None else "" for cell in self.cells}


def pieces_of(tokens: Sequence[Token], *, value: range | None, keep_signs: bool) -> list[Piece]:
    """Turn tokens into pieces: the value with its sign is one, and a sign before another number goes with it.

    Parameters
    ----------
    tokens : Sequence[Token]
        The tokens of a line.
    value : range | None
        Which tokens are the value; None when the line carries none.
    keep_signs : bool
        True when a sign in front of a number stands for itself.

    Returns
    -------
    list[Piece]
        From left to right.
    """
    pieces: list[Piece] = []
    for at, token in enumerate(tokens):
        if value is not None and at in value:
            if at == value.start:
                text = " ".join(tokens[inside].text for inside in value)
                pieces.append(Piece("value", text, token.start, tokens[value.stop - 1].end))
            continue
        if token.kind in {"number", "digits"}:
            pieces.append(Piece("number" if token.kind == "number" else "digits", token.text, token.start, token.end))
        else:
            pieces.append(Piece("text", token.text, token.start, token.end))
        if len(pieces) >= 2 and pieces[-1].kind == "number" and not keep_signs:
            sign = pieces[-2]
            if sign.text in {"+", "-"} and (len(pieces) == 2 or pieces[-3].end < sign.start):
                pieces[-2:] = [Piece("number", sign.text + pieces[-1].text, sign.start, pieces[-1].end)]
    return pieces


def overlay(rows: Sequence[Row]) -> list[Column] | None:
    """Lay rows over each other.

    Parameters
    ----------
    rows : Sequence[Row]
        Lines of one form; at most one value each.

    Returns
    -------
    list[Column] | None
        From left to right; None when a line has pieces that fit nowhere.
    """
    before: list[list[Piece]] = []
    after: list[list[Piece]] = []
    values: list[Piece | None] = []
    for row in rows:
        at = next((place for place, piece in enumerate(row.pieces) if piece.kind == "value"), None)
        before.append(row.pieces[:at] if at is not None else row.pieces)
        values.append(row.pieces[at] if at is not None else None)
        after.append(row.pieces[at + 1 :] if at is not None else [])
    left, right = _align(before), _align(after)
    if left is None or right is None:
        return None
    middle = [Column(values)] if any(value is not None for value in values) else []
    return [*left, *middle, *right]


def _align(parts: list[list[Piece]]) -> list[Column] | None:
    """Align the pieces on one side of the value with the longest row."""
    guide = max(parts, key=len)
    cells: list[list[Piece | None]] = [[] for _ in guide]
    for part in parts:
        placed = _place(guide, part)
        if placed is None:
            return None
        for column, cell in zip(cells, placed, strict=True):
            column.append(cell)
    return [Column(column) for column in cells]


def _place(guide: list[Piece], part: list[Piece]) -> list[Piece | None] | None:
    if len(guide) == len(part):
        return list(part)
    placed: list[Piece | None] = [None] * len(guide)
    matcher = SequenceMatcher(None, [piece.key for piece in guide], [piece.key for piece in part], autojunk=False)
    for what, guide_from, guide_to, part_from, part_to in matcher.get_opcodes():
        if part_to - part_from > guide_to - guide_from:
            return None
        if what in {"equal", "replace"}:
            for offset in range(part_to - part_from):
                placed[guide_from + offset] = part[part_from + offset]
    return placed


def gap(rows: Sequence[Row], columns: Sequence[Column], at: int) -> str:
    """Return how a template writes the blanks before a column, or after the last one.

    Parameters
    ----------
    rows : Sequence[Row]
        The lines.
    columns : Sequence[Column]
        What `overlay` gave.
    at : int
        Index of the column; the number of columns for the end of the line.

    Returns
    -------
    str
        Nothing, one blank, or ``~``.
    """
    widths: set[int] = set()
    for row, line in enumerate(rows):
        cell = columns[at].cells[row] if at < len(columns) else None
        if at < len(columns) and cell is None:
            continue
        left = next((piece for piece in (columns[i].cells[row] for i in range(at - 1, -1, -1)) if piece), None)
        begin = left.end if left is not None else 0
        stop = cell.start if cell is not None else len(line.line)
        widths.add(stop - begin)
    optional = any(cell is None for column in columns[max(0, at - 1) : at + 1] for cell in column.cells)
    # A number that fills its columns one day leaves no blank before it.
    filled = at < len(columns) and columns[at].kind in {"value", "number"} and len(widths) > 1
    if 0 not in widths and not optional and not filled:
        return " "
    return "~" if widths - {0} else ""

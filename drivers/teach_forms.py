"""Columns to a template: which field each changing place is, told by when it changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from drivers.teach_slots import Column, Row, gap
from drivers.teach_states import UNIT_WORDS

_MOVING_SHARE = 0.6
_FEWEST_MOVING = 4
_SIGNS = {"+", "-", ""}


@dataclass
class Words:
    """The words a profile needs, as they are found.

    Attributes
    ----------
    units : dict[str, str]
        Unit words with their symbols.
    steady : tuple[str, ...]
        Words for a settled pan.
    moving : tuple[str, ...]
        Words for an unsettled pan.
    net : tuple[str, ...]
        Words for a weight with the tare taken off.
    gross : tuple[str, ...]
        Words for a weight without tare.
    taken : set[str]
        Field names in use.
    """

    units: dict[str, str] = field(default_factory=dict[str, str])
    steady: tuple[str, ...] = ()
    moving: tuple[str, ...] = ()
    net: tuple[str, ...] = ()
    gross: tuple[str, ...] = ()
    taken: set[str] = field(default_factory=set[str])


def template_of(
    rows: Sequence[Row], columns: Sequence[Column], words: Words, *, sign_field: bool, check: bool
) -> str | None:
    """Write the template of an overlay.

    Parameters
    ----------
    rows : Sequence[Row]
        The lines.
    columns : Sequence[Column]
        What `overlay` gave.
    words : Words
        Takes the words that are found.
    sign_field : bool
        True when the sign stands in a field of its own.
    check : bool
        True when check characters follow the line.

    Returns
    -------
    str | None
        None when a place changes in a way that no field can tell.
    """
    parts: list[str] = []
    value_at = next((at for at, column in enumerate(columns) if column.kind == "value"), None)
    sign_at = _sign_column(columns, value_at) if value_at is not None else None
    for at, column in enumerate(columns):
        following = columns[at + 1] if at + 1 < len(columns) else None
        between = columns[at - 1].texts if value_at is not None and at - 2 == value_at else {"none"}
        near = value_at is not None and (abs(at - value_at) == 1 or between <= _SIGNS)
        before, after = gap(rows, columns, at), gap(rows, columns, at + 1)
        parts.append(before)
        if column.kind == "value":
            parts.append("{value}")
            continue
        written = _field(rows, column, words, near=near, sign=sign_field and at == sign_at)
        if written is None:
            written = _skip(column, following, after, open_end=not check)
        if written is None:
            return None
        parts.append(written)
    parts.append(gap(rows, columns, len(columns)))
    return "".join(parts)


def _sign_column(columns: Sequence[Column], value_at: int) -> int | None:
    """Return the changing sign right behind the value, or else the nearest one before it."""
    places: list[int] = [value_at + 1, *range(value_at - 1, -1, -1)]
    for at in places:
        if at < len(columns) and len(columns[at].texts) > 1 and columns[at].texts <= _SIGNS:
            return at
    return None


def _field(  # noqa: PLR0911 - one return for each sort of field
    rows: Sequence[Row], column: Column, words: Words, *, near: bool, sign: bool
) -> str | None:
    """Choose the field of one column."""
    texts, optional = column.texts, "?" if None in column.cells else ""
    if column.kind == "number":
        return f"{{number{optional}}}"
    if column.kind == "digits":
        widths = {len(text) for text in texts if text}
        return f"{{digits {widths.pop()}{optional}}}" if len(widths) == 1 else f"{{digits{optional}}}"
    if column.kind != "text":
        return None
    if sign:
        return f"{{sign{optional}}}"
    known = {text: UNIT_WORDS[text.lower()] for text in texts if text.lower() in UNIT_WORDS}
    if near and known and known.keys() == texts - {""} and "unit" not in words.taken:
        words.taken.add("unit")
        words.units.update(known)
        return f"{{unit{optional}}}"
    if len(texts) == 1:
        return _literal(next(iter(texts)))
    return _state(rows, column, words, optional) or _kind(rows, column, words, optional)


def _literal(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}").replace("~", "~~")


def _by_group(rows: Sequence[Row], column: Column) -> dict[str, Counter[str]]:
    groups: dict[str, Counter[str]] = {"rest": Counter(), "tared": Counter(), "moving": Counter()}
    for row, cell in zip(rows, column.cells, strict=True):
        groups[row.group][cell.text if cell is not None else ""] += 1
    return groups


def _state(rows: Sequence[Row], column: Column, words: Words, optional: str) -> str | None:
    """Take a place for the state when it differs in most moving lines from every settled line."""
    groups = _by_group(rows, column)
    settled = set(groups["rest"]) | set(groups["tared"])
    moving = groups["moving"]
    other = {text for text in moving if text not in settled}
    if "state" in words.taken or moving.total() < _FEWEST_MOVING or not other:
        return None
    if sum(moving[text] for text in other) < _MOVING_SHARE * moving.total():
        return None
    if groups["tared"] and set(groups["tared"]) != set(groups["rest"]) and len(settled) > 2:
        return None
    words.taken.add("state")
    words.steady, words.moving = tuple(sorted(settled)), tuple(sorted(other))
    return f"{{state{optional}}}"


def _kind(rows: Sequence[Row], column: Column, words: Words, optional: str) -> str | None:
    """Take a place for net and gross when one word stands there with a tare and another without."""
    groups = _by_group(rows, column)
    tared, rest = set(groups["tared"]), set(groups["rest"])
    if "kind" in words.taken or not tared or tared & rest or not set(groups["moving"]) <= tared | rest:
        return None
    words.taken.add("kind")
    words.net, words.gross = tuple(sorted(tared)), tuple(sorted(rest))
    return f"{{kind{optional}}}"


def _skip(column: Column, following: Column | None, after: str, *, open_end: bool) -> str | None:
    """Pass a changing place over, when its end can be told."""
    widths = {len(text) for text in column.texts}
    if len(widths) == 1 and column.kind in {"text", "mixed"}:
        return f"{{skip {widths.pop()}}}"
    if after == " " or (following is None and not after and open_end):
        return "{skip}"
    if following is not None and after == "" and following.kind == "text" and len(following.texts) == 1:
        stop = next(iter(following.texts))
        if stop and not any(stop[0] in text for text in column.texts):
            return "{skip}"
    return None

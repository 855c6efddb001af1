"""Proposes how a balancing machine's text may be laid out, from the places where known numbers stand.

A proposal need not be right: each is tried on the whole text before it is believed.
"""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, Literal

from drivers.number_style import NumberStyle

Layout = dict[str, Any]
Place = tuple[int, int, int]
_DELIMITERS = (";", "\t", "|", ",")
_LABEL_HEADINGS = re.compile(r"(?i)\b(run|spin|no|nr|id|label|test|number|measurement)\b")
_SPEED_HEADINGS = re.compile(r"(?i)\b(speed|rpm|turns|n)\b")
_TRIED_CAP = 24


@dataclass(frozen=True, slots=True)
class Find:
    """Where one known number stands.

    Attributes
    ----------
    plane : str
        The bench's plane.
    what : str
        "amount" or "angle".
    places : list[Place]
        Line, first column and column behind the last, of each occurrence.
    """

    plane: str
    what: Literal["amount", "angle"]
    places: list[Place]


def _choices(finds: Sequence[Find]) -> list[tuple[Place, ...]]:
    """List the ways to choose one place a number, those close together first."""
    ways = list(product(*(find.places[:4] for find in finds)))[:256]
    ways = [way for way in ways if len(set(way)) == len(way)]
    return sorted(ways, key=lambda way: max(place[0] for place in way) - min(place[0] for place in way))[:_TRIED_CAP]


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, strict=True))]
    except (csv.Error, StopIteration):
        return []


def table_layouts(lines: Sequence[str], finds: Sequence[Find], planes: Sequence[str], decimal: str) -> list[Layout]:
    """Propose tables with a delimiter and headings.

    Parameters
    ----------
    lines : Sequence[str]
        The text.
    finds : Sequence[Find]
        Where the known numbers stand.
    planes : Sequence[str]
        The bench's planes.
    decimal : str
        The decimal sign, which cannot be the delimiter.

    Returns
    -------
    list[Layout]
        Parts of profiles.
    """
    layouts: list[Layout] = []
    for delimiter in _DELIMITERS:
        if delimiter == decimal and not any('"' in line for line in lines):
            continue
        rows = [_cells(line, delimiter) for line in lines]
        for way in _choices(finds):
            at: dict[tuple[str, str], int] = {}
            for find, (line, first, last) in zip(finds, way, strict=True):
                number = lines[line][first:last]
                if rows[line].count(number) == 1:
                    at[find.plane, find.what] = rows[line].index(number)
            if len(at) < len(finds):
                continue
            row_of = {find.plane: place[0] for find, place in zip(finds, way, strict=True)}
            width = len(rows[way[0][0]])
            used = set(at.values())
            heads = [
                n
                for n in range(min(row_of.values()))
                if len(rows[n]) == width > 1
                and len(set(rows[n])) == width
                and not any(_is_figure(rows[n][place]) for place in used)
            ]
            for head in heads[-1:]:
                layout = _table(rows, rows[head], at, row_of, planes)
                if layout is not None:
                    table = {"delimiter": delimiter, "heading_line": head + 1, "columns": layout.pop("columns")}
                    layouts.append({"driver": "delimited-table", "table": table, **layout})
    return layouts


def _is_figure(cell: str) -> bool:
    return re.fullmatch(r"[+\-]?[0-9]+([.,][0-9]+)*", cell) is not None


def _table(
    rows: Sequence[list[str]],
    headings: list[str],
    at: dict[tuple[str, str], int],
    row_of: dict[str, int],
    planes: Sequence[str],
) -> Layout | None:
    """Tell a row a run from a row a plane."""
    columns: dict[str, str] = {}
    for field, heading in (("label", _LABEL_HEADINGS), ("speed", _SPEED_HEADINGS)):
        name = next((cell for n, cell in enumerate(headings) if heading.search(cell) and n not in at.values()), None)
        if name is not None and name not in columns.values():
            columns[field] = name
    if len(set(row_of.values())) == 1:
        columns.update({f"{plane}.{what}": headings[place] for (plane, what), place in at.items()})
        return {"columns": columns, "planes": {plane: plane for plane in planes}}
    by_what = {what: {at[plane, what] for plane in planes} for what in ("amount", "angle")}
    if len(set(row_of.values())) != len(planes) or any(len(places) > 1 for places in by_what.values()):
        return None
    used = {headings.index(name) for name in columns.values()} | {
        place for places in by_what.values() for place in places
    }
    for place in range(len(headings)):
        words = {rows[row_of[plane]][place]: plane for plane in planes}
        if place not in used and len(words) == len(planes) and all(words):
            columns.update({what: headings[min(by_what[what])] for what in by_what})
            columns["plane"] = headings[place]
            return {"columns": columns, "planes": words}
    return None


def block_layouts(lines: Sequence[str], finds: Sequence[Find], planes: Sequence[str], decimal: str) -> list[Layout]:
    """Propose blocks of keyed lines.

    Parameters
    ----------
    lines : Sequence[str]
        The text.
    finds : Sequence[Find]
        Where the known numbers stand.
    planes : Sequence[str]
        The bench's planes.
    decimal : str
        The decimal sign.

    Returns
    -------
    list[Layout]
        Parts of profiles.
    """
    del decimal
    layouts: list[Layout] = []
    for way in _choices(finds):
        by_line: dict[int, list[tuple[Find, Place]]] = {}
        for find, place in zip(finds, way, strict=True):
            by_line.setdefault(place[0], []).append((find, place))
        forms: list[dict[str, object]] = []
        for number, spots in sorted(by_line.items()):
            owners = {find.plane for find, _ in spots}
            if len(owners) != 1:
                break
            form: dict[str, object] = {"text": _keyed(lines[number], spots), "plane": owners.pop(), "needed": True}
            forms.append(form)
        else:
            layouts.extend(_with_bounds(lines, sorted(by_line), forms, planes))
    return layouts


def _keyed(line: str, spots: Sequence[tuple[Find, Place]]) -> str:
    """Write a line as a template, its known numbers as fields and all other figures passed over."""
    text, end = "", 0
    for find, (_, start, stop) in sorted(spots, key=lambda spot: spot[1][1]):
        text += _passed(line[end:start]) + f"{{{find.what}}}"
        end = stop
    return re.sub(r"^~|~$", "", (text + _passed(line[end:])).strip(" \t"))


def _passed(text: str) -> str:
    quoted = text.replace("{", "{{").replace("}", "}}").replace("~", "~~")
    quoted = re.sub(r"(?<![A-Za-z0-9])[0-9]+[.,][0-9]+", "{number}", quoted)
    return re.sub(r"[ \t]+", " ", quoted)


def _with_bounds(
    lines: Sequence[str], used: Sequence[int], forms: list[dict[str, object]], planes: Sequence[str]
) -> list[Layout]:
    """Find the lines that begin and end a run: around it, once a run, the end before the next begin."""
    kinds = Counter(_shape(line) for line in lines if line.strip())
    first, last = _shape(lines[used[0]]), _shape(lines[used[-1]])
    start = next((n + 1 for n in range(used[0] - 1, -1, -1) if _shape(lines[n]) == last), 0)
    stop = next((n for n in range(used[-1] + 1, len(lines)) if _shape(lines[n]) == first), len(lines))
    before = [n for n in range(start, used[0]) if lines[n].strip()]
    after = [n for n in range(used[-1] + 1, stop) if lines[n].strip()]
    gaps = [[_shape(lines[n]) for n in gap] for gap in (before if start else [], after if stop < len(lines) else [])]
    begins = [n for n in before if kinds[_shape(lines[n])] == kinds[first]]
    begins.sort(key=lambda n: ("{label}" not in _bound(lines[n]), -n))
    layouts: list[Layout] = []
    for end, begin in product(after[:3], begins[:4]):
        if kinds[_shape(lines[end])] == kinds[first] and _in_turn(gaps, _shape(lines[end]), _shape(lines[begin])):
            block = {
                "begin": _bound(lines[begin]),
                "end": _bound(lines[end], label=False),
                "others": "pass",
                "line": forms,
            }
            layouts.append({"driver": "keyed-block", "block": block, "planes": {plane: plane for plane in planes}})
    return layouts


def _in_turn(gaps: Sequence[Sequence[str]], end: str, begin: str) -> bool:
    """Tell whether between two runs the one ends before the next begins."""
    return all(end in gap and begin in gap[gap.index(end) + 1 :] for gap in gaps if gap)


def _shape(line: str) -> str:
    """Write a line with every figure as 0 and every gap as one blank, so that right-aligned lines are alike."""
    return re.sub(r"[ \t]+", " ", re.sub(r"(?<![A-Za-z0-9])[0-9]+([.,:][0-9]+)*", "0", line.strip()))


def _bound(line: str, *, label: bool = True) -> str:
    """Write a line that bounds a run, with the last number as the run's label."""
    quoted = line.strip().replace("{", "{{").replace("}", "}}").replace("~", "~~")
    quoted = re.sub(r"[ \t]+", " ", quoted)
    if label and re.search(r" [0-9]+$", quoted):
        return re.sub(r"[0-9]+$", "{label}", quoted)
    return re.sub(r"(?<![A-Za-z0-9{])[0-9]+", "{digits}", quoted)


def column_layouts(
    lines: Sequence[str], finds: Sequence[Find], planes: Sequence[str], style: NumberStyle
) -> list[Layout]:
    """Propose fixed columns: fields reach back over the blanks before them to the field before.

    Parameters
    ----------
    lines : Sequence[str]
        The text.
    finds : Sequence[Find]
        Where the known numbers stand.
    planes : Sequence[str]
        The bench's planes.
    style : NumberStyle
        How numbers are written.

    Returns
    -------
    list[Layout]
        Parts of profiles.
    """
    layouts: list[Layout] = []
    for way in _choices(finds):
        at = {(find.plane, find.what): place for find, place in zip(finds, way, strict=True)}
        rows = sorted({place[0] for place in at.values()})
        if len(rows) == 1:
            spans = {f"{plane}.{what}": (place[1], place[2]) for (plane, what), place in at.items()}
            words = {plane: plane for plane in planes}
        elif len(rows) == len(planes):
            spans = {
                what: (min(at[p, what][1] for p in planes), max(at[p, what][2] for p in planes))
                for what in ("amount", "angle")
            }
            heads = {plane: re.match(r"\s*(\S+(?: \S+)?)", lines[at[plane, "amount"][0]]) for plane in planes}
            found = {plane: head for plane, head in heads.items() if head is not None}
            words = {head.group(1): plane for plane, head in found.items()}
            if len(words) != len(planes):
                continue
            spans["plane"] = (min(h.start(1) for h in found.values()), max(h.end(1) for h in found.values()))
        else:
            continue
        fields = _reached_back(lines[rows[0]], spans)
        layout: Layout = {"driver": "fixed-columns", "planes": words}
        layout["columns"] = {"fields": fields, "skip_lines": _first_row(lines, fields, style)}
        layouts.append(layout)
    return layouts


def _reached_back(line: str, spans: dict[str, tuple[int, int]]) -> dict[str, tuple[int, int]]:
    """Let each field begin right behind whatever stands before it, so that larger numbers fit."""
    fields: dict[str, tuple[int, int]] = {}
    for name, (start, end) in spans.items():
        begin = len(line[:start].rstrip()) if line[:start].strip() else 0
        fields[name] = (min(begin + 2, start + 1) if begin else 1, end)
    return fields


def _first_row(lines: Sequence[str], fields: dict[str, tuple[int, int]], style: NumberStyle) -> int:
    """Count the lines before the first one whose figures are numbers."""
    for number, line in enumerate(lines):
        figures = [line[first - 1 : last] for name, (first, last) in fields.items() if name != "plane"]
        if all(figure.strip() and style.read(figure) is not None for figure in figures):
            return number
    return 0

"""The certificate's weight sheet and bobweights, from the job's state and review to printed words."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bench.models.job import Cell
from bench.models.job_state import JobState, Weighed
from bench.reports.figures import NONE, as_weighed, decimals_of, figure
from bench.use_cases.view import Review, SetLine, SumLine, ThrowLine

WIDEST = 8
ABREAST = 4
_OF_CYLINDER = re.compile(r",? cylinder \d+$")


@dataclass(frozen=True, slots=True)
class SheetCell:
    """One printed weight.

    Attributes
    ----------
    key : str
        Name of the fact, e.g. "piston 3".
    marks : str
        Letters of the legend behind the figure.
    """

    key: str
    words: str
    marks: str
    bad: bool


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One kind of part."""

    key: str
    label: str
    cells: tuple[SheetCell, ...]
    spread: str
    limit: str
    out: bool


@dataclass(frozen=True, slots=True)
class Sheet:
    """Rows that share their columns; a job with many cylinders has several."""

    head: str
    places: tuple[int, ...]
    rows: tuple[SheetRow, ...]


@dataclass(frozen=True, slots=True)
class SumRow:
    """One kind of part in the bobweights' sum.

    Attributes
    ----------
    parts : tuple[tuple[str, str], ...]
        For each throw what is on it, e.g. "603.7 + 605.3", and the grams it counts.
    """

    label: str
    factor: str
    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PrintedThrow:
    """One bobweight.

    Attributes
    ----------
    verdict : str
        In words: within the band, off by how much, not made, or what is missing.
    """

    throw: int
    cylinders: str
    target: str
    uncertainty: str
    made: str
    off: str
    verdict: str
    good: bool


@dataclass(frozen=True, slots=True)
class SumSheet:
    """Bobweights side by side, and the rows of their sums; an engine with many throws has several."""

    throws: tuple[PrintedThrow, ...]
    rows: tuple[SumRow, ...]


def marks_of(weighed: Weighed | None, *, mark: str, out: bool) -> str:
    """Return the letters printed behind a weight.

    Parameters
    ----------
    weighed : Weighed | None
        The cell's value.
    mark : str
        The review's word for the cell.
    out : bool
        Heavier than its set allows.

    Returns
    -------
    str
        t typed, r weighed again, d doubtful, s skipped, x out of set.
    """
    if weighed is None:
        return "s" if mark == "skipped" else ""
    letters = ""
    if weighed.entry.how == "typed" or mark == "typed":
        letters += "t"
    if weighed.earlier or mark == "retaken":
        letters += "r"
    if weighed.doubtful or mark == "doubtful":
        letters += "d"
    return letters + ("x" if out or mark == "out of set" else "")


def sheets(state: JobState, review: Review) -> tuple[Sheet, ...]:
    """Return the weight sheet, at most eight places wide.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        The job, computed.

    Returns
    -------
    tuple[Sheet, ...]
        Cylinders first, then throws.
    """
    made: list[Sheet] = []
    for head, per in (("cylinder", "cylinder"), ("throw", "throw")):
        names = {kind.name for kind in state.spec.kinds if kind.per == per}
        lines = [line for line in review.sets if line.kind in names]
        places = sorted({place for line in lines for place in line.places})
        for start in range(0, len(places), WIDEST):
            part = tuple(places[start : start + WIDEST])
            rows = tuple(_row(state, line, part) for line in lines)
            made.append(Sheet(head, part, rows))
    return tuple(made)


def _row(state: JobState, line: SetLine, places: Sequence[int]) -> SheetRow:
    decimals = decimals_of(g for g in line.grams if g is not None)
    cells: list[SheetCell] = []
    for place in places:
        if place not in line.places:
            cells.append(SheetCell(key="", words="", marks="", bad=False))
            continue
        i = line.places.index(place)
        cell = Cell(kind=line.kind, place=place)
        marks = marks_of(state.weighed.get(cell), mark=line.marks[i], out=line.out[i])
        cells.append(SheetCell(key=str(cell), words=as_weighed(line.grams[i]), marks=marks, bad="x" in marks))
    return SheetRow(
        key=line.kind,
        label=line.label,
        cells=tuple(cells),
        spread=figure(line.spread_g, decimals),
        limit=figure(line.limit_g, decimals),
        out=any(line.out),
    )


def weight_notes(state: JobState) -> tuple[str, ...]:
    """Return a sentence for each weight that was typed or taken more than once.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[str, ...]
        In the order of the sheet.
    """
    return tuple(_notes(state))


def _notes(state: JobState) -> Iterator[str]:
    labels = {kind.name: kind.label for kind in state.spec.kinds}
    for cell, weighed in state.weighed.items():
        words: list[str] = []
        if weighed.earlier:
            words.append("was " + ", ".join(as_weighed(value) for value in weighed.earlier))
        if weighed.entry.how == "typed":
            words.append(f"typed by {weighed.entry.by or 'nobody named'}")
        if weighed.doubtful:
            words.append("uncertainty too large for its set's limit")
        if words:
            if weighed.reason:
                words.append(weighed.reason)
            yield f"{labels.get(cell.kind, cell.kind)} {cell.place}: {', '.join(words)}"


def sum_sheets(state: JobState, review: Review) -> tuple[SumSheet, ...]:
    """Return the bobweights, itemised, at most four side by side.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        The job, computed.

    Returns
    -------
    tuple[SumSheet, ...]
        Front to back.
    """
    decimals = decimals_of(weighed.grams for weighed in state.weighed.values())
    cylinders = {throw.number: throw.cylinders for throw in state.spec.layout.throws}
    made: list[SumSheet] = []
    for start in range(0, len(review.throws), ABREAST):
        lines = review.throws[start : start + ABREAST]
        printed = tuple(_throw(line, cylinders.get(line.throw, ()), decimals) for line in lines)
        made.append(SumSheet(printed, _sum_rows(lines, decimals)))
    return tuple(made)


def _sum_rows(lines: Sequence[ThrowLine], decimals: int) -> tuple[SumRow, ...]:
    """Rows of like parts: the parts of one kind on one throw stand in one row, each with its own grams."""
    keys: dict[tuple[str, float], None] = {}
    grouped: list[dict[tuple[str, float], list[SumLine]]] = []
    for line in lines:
        group: dict[tuple[str, float], list[SumLine]] = {}
        for item in line.lines:
            key = (_OF_CYLINDER.sub("", item.label), item.factor)
            keys.setdefault(key)
            group.setdefault(key, []).append(item)
        grouped.append(group)
    return tuple(
        SumRow(key[0], f"{key[1]:g}", tuple(_part(group.get(key, []), decimals) for group in grouped)) for key in keys
    )


def _part(items: Sequence[SumLine], decimals: int) -> tuple[str, str]:
    if not items:
        return NONE, NONE
    each = " + ".join(figure(item.grams, decimals) for item in items)
    return each, figure(sum(item.counted_g for item in items), decimals + 1)


def _throw(line: ThrowLine, cylinders: Sequence[int], decimals: int) -> PrintedThrow:
    uncertainty = None if line.standard_uncertainty_g is None else 2.0 * line.standard_uncertainty_g
    if line.missing:
        verdict = "still open: " + ", ".join(line.missing[:4]) + (" …" if len(line.missing) > 4 else "")
    elif line.made_g is None:
        verdict = "not made yet"
    else:
        verdict = "within its band" if line.within else "outside its band"
    return PrintedThrow(
        throw=line.throw,
        cylinders=", ".join(str(cylinder) for cylinder in cylinders),
        target=figure(line.target_g, decimals),
        uncertainty=figure(uncertainty, decimals + 1),
        made=as_weighed(line.made_g),
        off=figure(line.off_g, decimals + 1, signed=True),
        verdict=verdict,
        good=line.within and line.made_g is not None,
    )

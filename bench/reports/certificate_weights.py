"""The certificate's weight sheet and bobweights, from the job's state and review to printed words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bench.models.job import Cell
from bench.models.job_state import JobState, Weighed
from bench.reports.figures import as_weighed, decimals_of, figure
from bench.use_cases.view import Review, SetLine, ThrowLine

WIDEST = 8


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
class PrintedSum:
    """One line of a bobweight."""

    label: str
    each: str
    factor: str
    counted: str


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
    lines: tuple[PrintedSum, ...]
    target: str
    uncertainty: str
    made: str
    off: str
    verdict: str
    good: bool


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


def throws(state: JobState, review: Review) -> tuple[PrintedThrow, ...]:
    """Return the bobweights, itemised.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        The job, computed.

    Returns
    -------
    tuple[PrintedThrow, ...]
        Front to back.
    """
    decimals = decimals_of(weighed.grams for weighed in state.weighed.values())
    cylinders = {throw.number: throw.cylinders for throw in state.spec.layout.throws}
    return tuple(_throw(line, cylinders.get(line.throw, ()), decimals) for line in review.throws)


def _throw(line: ThrowLine, cylinders: Sequence[int], decimals: int) -> PrintedThrow:
    uncertainty = None if line.standard_uncertainty_g is None else 2.0 * line.standard_uncertainty_g
    if line.missing:
        verdict = "still to be weighed: " + ", ".join(line.missing[:4]) + (" …" if len(line.missing) > 4 else "")
    elif line.made_g is None:
        verdict = "not made yet"
    else:
        verdict = "within its band" if line.within else "outside its band"
    return PrintedThrow(
        throw=line.throw,
        cylinders=", ".join(str(cylinder) for cylinder in cylinders),
        lines=tuple(
            PrintedSum(
                label=item.label,
                each=figure(item.grams, decimals),
                factor=f"{item.factor:g}",
                counted=figure(item.counted_g, decimals + 1),
            )
            for item in line.lines
        ),
        target=figure(line.target_g, decimals),
        uncertainty=figure(uncertainty, decimals + 1),
        made=as_weighed(line.made_g),
        off=figure(line.off_g, decimals + 1, signed=True),
        verdict=verdict,
        good=line.within and line.made_g is not None,
    )

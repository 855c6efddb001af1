"""The weight sheet: a row a kind, a column a cylinder or throw, each cell with its state, each row with its spread."""

from __future__ import annotations

from dataclasses import dataclass

from textual.content import Content

from bench.models.job import Cell
from bench.screens.glyphs import GlyphSet
from bench.screens.palette import state_style
from bench.screens.safe_text import padded, safe
from bench.use_cases.view import Review, SetLine

MARK_LEVELS = {"out of set": "bad", "doubtful": "ask", "taken": "", "retaken": "", "typed": "ask"}
BAR_NARROW, BAR_WIDE = 10, 22
WIDE = 110
LABEL_LEAST = 9


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """How a sheet is laid into its room.

    Attributes
    ----------
    label, cell, bar : int
        Widths in cells.
    first, count : int
        Columns shown.
    """

    label: int
    cell: int
    bar: int
    first: int
    count: int


def plan_sheet(review: Review, *, width: int, due: Cell | None) -> SheetPlan:
    """Return how the sheet is laid out: all columns where they fit, else those around what is due.

    Parameters
    ----------
    review : Review
        The job, computed.
    width : int
        Room in cells.
    due : Cell or None
        The cell that must be seen.

    Returns
    -------
    SheetPlan
        Widths and columns.
    """
    texts = [len(str(grams)) for line in review.sets for grams in line.grams if grams is not None]
    cell = max([5, *texts]) + 2
    longest = max((len(line.places) for line in review.sets), default=0)
    bar = BAR_WIDE if width >= WIDE else BAR_NARROW
    wanted = max((len(safe(line.label)) for line in review.sets), default=LABEL_LEAST) + 1
    if longest * cell + wanted + bar + 1 > width and cell > 6:
        cell -= 1
    count = max(1, min(longest, (width - LABEL_LEAST - bar - 1) // cell))
    label = min(wanted, max(LABEL_LEAST, width - count * cell - bar - 1))
    first = 0
    if due is not None and count < longest:
        line = next((line for line in review.sets if line.kind == due.kind), None)
        column = line.places.index(due.place) if line is not None and due.place in line.places else 0
        first = max(0, min(column - count // 2, longest - count))
    return SheetPlan(label=label, cell=cell, bar=bar, first=first, count=count)


def spread_bar(line: SetLine, width: int, glyphs: GlyphSet) -> Content:
    """Return a set's spread against its limit: words on a bar that is full at the limit.

    Parameters
    ----------
    line : SetLine
        The set.
    width : int
        Cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        Exactly as wide.
    """
    if line.spread_g is None:
        return Content.styled(padded("-" if line.limit_g is None else f"-   {line.limit_g:g} g", width), "$faint")
    if line.limit_g is None:
        return Content.styled(padded(f"{line.spread_g:.1f}", width), "$faint")
    within = line.spread_g <= line.limit_g
    sign = ("≤" if glyphs.blocks else "<=") if within else ">"
    words = f"{line.spread_g:.1f}{sign}{line.limit_g:g} g"
    if width >= BAR_WIDE:
        bar = width - 12
        filled = min(bar - 1, round((bar - 1) * line.spread_g / line.limit_g))
        tail = glyphs.bar_limit if within else glyphs.bad
        drawn = glyphs.bar_full * filled + glyphs.bar_empty * (bar - 1 - filled) + tail
        return Content.assemble(
            Content.styled(drawn, "$good" if within else "bold $bad"),
            Content.styled(" " + padded(words, 11), "" if within else "bold $bad"),
        )
    text = padded(f" {words}", width)
    filled = min(width, round(width * line.spread_g / line.limit_g))
    if not within:
        return Content.styled(text, "bold reverse $bad")
    return Content.assemble(Content.styled(text[:filled], "bold on $zone"), Content.styled(text[filled:], "on $raised"))


def _cell(line: SetLine, index: int, plan: SheetPlan, due: Cell | None, glyphs: GlyphSet) -> Content:
    grams, mark = line.grams[index], line.marks[index]
    is_due = due is not None and due.kind == line.kind and due.place == line.places[index]
    sign = glyphs.mark(mark)
    text = f"{glyphs.here if is_due else ''}{sign} " if grams is None else f"{grams}{sign}"
    text = padded(text, plan.cell, right=True)
    if is_due:
        return Content.styled(text, "bold reverse $accent")
    if grams is None:
        return Content.styled(text, "$faint")
    level = MARK_LEVELS.get(mark, "")
    return Content.styled(text, f"bold ${level}" if level else "")


def sheet_rows(review: Review, *, width: int, due: Cell | None, glyphs: GlyphSet) -> list[Content]:
    """Return the sheet, a line of column heads first.

    Parameters
    ----------
    review : Review
        The job, computed.
    width : int
        Room in cells.
    due : Cell or None
        What is due.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    list[Content]
        One a line.
    """
    if not review.sets:
        return [Content.styled("Nothing is weighed for this rotor: go on with the spins (key 3).", "$faint")]
    plan = plan_sheet(review, width=width, due=due)
    places = max((line.places for line in review.sets), key=len)
    shown = places[plan.first : plan.first + plan.count]
    hidden = len(places) - len(shown)
    head = "".join(padded(f"{place} ", plan.cell, right=True) for place in shown)
    corner = padded(f"{shown[0]}-{shown[-1]} of {len(places)}" if hidden else "grams", plan.label)
    rows = [Content.styled(f"{corner}{head} {padded('spread', plan.bar)}", "$faint")]
    for line in review.sets:
        here = due is not None and due.kind == line.kind
        cells = [
            _cell(line, index, plan, due, glyphs) if index < len(line.places) else Content(" " * plan.cell)
            for index in range(plan.first, plan.first + plan.count)
        ]
        rows.append(
            Content.assemble(
                Content.styled(padded(line.label, plan.label), "bold $accent" if here else ""),
                *cells,
                " ",
                spread_bar(line, plan.bar, glyphs),
            )
        )
    return rows


def cell_at(review: Review, *, width: int, due: Cell | None, x: int, y: int) -> Cell | None:
    """Return the cell of the sheet under a pointer.

    Parameters
    ----------
    review : Review
        The job, computed.
    width : int
        Room the sheet was drawn for.
    due : Cell or None
        What is due.
    x, y : int
        Where, in cells.

    Returns
    -------
    Cell or None
        None between the cells.
    """
    plan = plan_sheet(review, width=width, due=due)
    if not 1 <= y <= len(review.sets) or x < plan.label:
        return None
    column = plan.first + (x - plan.label) // plan.cell
    line = review.sets[y - 1]
    if column >= len(line.places) or column >= plan.first + plan.count:
        return None
    return Cell(kind=line.kind, place=line.places[column])


def legend(review: Review, glyphs: GlyphSet) -> Content:
    """Return what the signs of the sheet mean, only those that are on it.

    Parameters
    ----------
    review : Review
        The job, computed.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        One line.
    """
    there = dict.fromkeys(mark for line in review.sets for mark in line.marks)
    parts: list[Content] = []
    for mark in there:
        level = MARK_LEVELS.get(mark, "")
        parts += [Content.styled(f"{glyphs.mark(mark)} {safe(mark)}", state_style(level) or "$faint"), Content("   ")]
    return Content("").join(parts)

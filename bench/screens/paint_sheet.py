"""The weight sheet as text: each cell's value with a sign of its state, each set's spread against its limit."""

from __future__ import annotations

from textual.content import Content

from bench.models.job import Cell
from bench.screens.safe_text import plain
from bench.use_cases.view import Review, SetLine

SIGNS = {
    "open": (" ", "$foreground-muted"),
    "taken": (" ", "$foreground"),
    "retaken": ("r", "$foreground"),
    "typed": ("t", "$foreground"),
    "out of set": ("!", "bold $text-error"),
    "doubtful": ("?", "bold $text-warning"),
    "skipped": ("~", "$foreground-muted"),
}
LEGEND = "! out of set   ? uncertain   r weighed again   t typed   ~ left for later   > due"
CELL = 8
LABEL = 15
SPREAD = 18
BAR = 4


def spread_bar(line: SetLine, width: int = BAR) -> Content:
    """Return a set's spread as a bar against its limit.

    Parameters
    ----------
    line : SetLine
        The set.
    width : int
        Cells that the limit takes.

    Returns
    -------
    Content
        The figure and a bar, with a sign when the set is too wide.
    """
    if line.spread_g is None:
        return Content("")
    if line.limit_g is None:
        return Content(f"{line.spread_g:4.1f}")
    over = line.spread_g > line.limit_g + 1e-9
    filled = min(width, round(width * line.spread_g / line.limit_g))
    bar = "=" * filled + "." * (width - filled)
    style = "bold $text-error" if over else "$text-success"
    return Content.styled(f"{line.spread_g:4.1f} {bar}{' !' if over else ''}", style)


def sheet(review: Review, *, due: Cell | None, columns: int) -> Content:
    """Return the whole sheet.

    Parameters
    ----------
    review : Review
        The job, computed.
    due : Cell | None
        The cell that is due.
    columns : int
        Width of the box.

    Returns
    -------
    Content
        One line a kind, a line of cylinder numbers, a legend.
    """
    longest = max((len(line.places) for line in review.sets), default=0)
    room = columns - LABEL - SPREAD
    cell = max(6, min(CELL, room // longest)) if longest else CELL
    label = max(LABEL, min(26, columns - cell * longest - SPREAD))
    head = " " * label + "".join(f"{n + 1:>{cell - 1}} " for n in range(longest)) + " spread"
    rows = [Content.styled(head[:columns], "$foreground-muted")]
    rows += [_row(line, due=due, label=label, cell=cell, longest=longest) for line in review.sets]
    rows.append(Content.styled(LEGEND[:columns], "$foreground-muted"))
    return Content("\n").join(rows)


def _row(line: SetLine, *, due: Cell | None, label: int, cell: int, longest: int) -> Content:
    parts = [plain(line.label[: label - 1].ljust(label), "bold" if due and due.kind == line.kind else "")]
    for place, grams, mark in zip(line.places, line.grams, line.marks, strict=True):
        is_due = due is not None and due.kind == line.kind and due.place == place
        sign, style = SIGNS.get(mark, (" ", ""))
        text = "--" if grams is None else str(grams)
        if is_due:
            parts.append(Content.styled(f"{'>' + text:>{cell - 1}}{sign}", "bold reverse"))
        else:
            parts.append(Content.styled(f"{text:>{cell - 1}}{sign}", style))
    parts.append(Content(" " * (cell * (longest - len(line.places)) + 1)))
    parts.append(spread_bar(line))
    return Content("").join(parts)


def take_off_words(review: Review) -> list[str]:
    """Return what comes off which part, a sentence each, for sets that are too wide.

    Parameters
    ----------
    review : Review
        The job, computed.

    Returns
    -------
    list[str]
        Empty when every set is within its limit.
    """
    words: list[str] = []
    for line in review.sets:
        for place, off, out in zip(line.places, line.take_off_g, line.out, strict=True):
            if out and off is not None:
                words.append(f"{line.label} {place}: take {off:.1f} g off to equal the lightest")
    return words

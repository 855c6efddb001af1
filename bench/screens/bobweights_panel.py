"""The bobweight step: what is still to be added or taken off, the sum, each throw's state, the spread."""

from __future__ import annotations

from rich.cells import cell_len
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content

from bench.screens.glyphs import GlyphSet
from bench.screens.number_band import bobweight_reading, number_band
from bench.screens.palette import state_style
from bench.screens.panel import Look, Panel
from bench.screens.picture import Picture
from bench.screens.safe_text import clipped, padded, plain
from bench.use_cases.view import BenchView, Review, ThrowLine

MISSING_SHOWN = 3


def throw_state(line: ThrowLine) -> tuple[str, str]:
    """Return a throw's state in words, and its level.

    Parameters
    ----------
    line : ThrowLine
        The throw.

    Returns
    -------
    tuple[str, str]
        Words and level.
    """
    if line.missing:
        more = "" if len(line.missing) <= MISSING_SHOWN else f" and {len(line.missing) - MISSING_SHOWN} more"
        return f"weigh {', '.join(line.missing[:MISSING_SHOWN])}{more}", "info"
    if line.target_g is None:
        return "no target yet", "info"
    if line.made_g is None:
        return "to be made", "info"
    return ("made", "good") if line.within else ("out of its band: make it again", "bad")


def throw_rows(review: Review, *, due: int | None, width: int, glyphs: GlyphSet) -> list[Content]:
    """Return the throws, a line each, and what the set comes to.

    Parameters
    ----------
    review : Review
        The job, computed.
    due : int or None
        Throw whose bobweight is due.
    width : int
        Room in cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    list[Content]
        Heads first.
    """
    rows = [Content.styled(padded("throw target    made    off", width), "$faint")]
    for line in review.throws:
        words, level = throw_state(line)
        target = "-" if line.target_g is None else f"{line.target_g:.1f}"
        made = "-" if line.made_g is None else str(line.made_g)
        off = "-" if line.off_g is None else f"{line.off_g:+.2f}"
        here = glyphs.here if line.throw == due else " "
        figures = " ".join(padded(text, room, right=True) for text, room in ((target, 7), (made, 7), (off, 6)))
        numbers = f"{here}{line.throw:>2} {figures} "
        state = padded(f"{glyphs.level(level)} {words}", max(width - len(numbers), 8))
        rows.append(
            Content.assemble(
                Content.styled(numbers, "bold $accent" if line.throw == due else ""),
                Content.styled(state, state_style(level).replace(" reverse", "").replace(" underline", "")),
            )
        )
    if not review.throws:
        rows.append(Content.styled("This rotor has no throws: go on with the spins (key 3).", "$faint"))
    if review.bobweight_mean_g is not None:
        spread = "" if review.bobweight_spread_g is None else f", throws' spread {review.bobweight_spread_g:.2f} g"
        rows.append(plain(clipped(f"mean {review.bobweight_mean_g:.1f} g{spread}", width), "$faint"))
    return rows


def _short(label: str) -> str:
    """Return "piston 3" for "piston, cylinder 3", where there is no room for more."""
    return label.partition(" (")[0].replace(", cylinder ", " ").replace(", throw ", " ")


def sum_rows(line: ThrowLine | None, *, width: int, height: int) -> list[Content]:
    """Return a bobweight's sum, item by item.

    Parameters
    ----------
    line : ThrowLine or None
        The throw.
    width, height : int
        The box in cells.

    Returns
    -------
    list[Content]
        At most `height`; the total stays.
    """
    if line is None:
        return [Content.styled("The sum stands here when the parts are weighed.", "$faint")]
    label = max(8, width - 23)
    wide_enough = all(cell_len(item.label) <= label for item in line.lines)
    rows = [Content.styled(padded(f"sum of throw {line.throw}", label) + "  grams times counted", "$faint")]
    for item in line.lines:
        words = item.label if wide_enough else _short(item.label)
        rows.append(plain(f"{padded(words, label)}{item.grams:>7.1f}{item.factor:>6.3g}{item.counted_g:>9.2f}"))
    if line.target_g is not None:
        wide = "" if line.standard_uncertainty_g is None else f" ± {2 * line.standard_uncertainty_g:.2f}"
        total = plain(
            clipped(padded("bobweight", label) + padded(f"{line.target_g:.2f}{wide} g", 22, right=True), width), "bold"
        )
    else:
        total = plain(clipped(f"open: {', '.join(line.missing)}", width), "$faint")
    return [*rows[: max(height - 1, 1)], total]


class BobweightsPanel(Panel):
    """What is missing on the pan, the throws, the sum."""

    def __init__(self) -> None:
        super().__init__(id="panel-bobweights")

    def compose(self) -> ComposeResult:
        """Lay out the number, then throws beside the sum.

        Yields
        ------
        Widget
            From top to bottom.
        """
        yield Picture(id="bob-number")
        with Horizontal(id="bob-tables"):
            yield Picture(id="bob-throws")
            yield Picture(id="bob-sum")

    def show(self, view: BenchView, look: Look) -> None:
        """Show the bobweights.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.
        """
        reading, glyphs, review = bobweight_reading(view), look.glyphs, view.review
        number = self.query_one("#bob-number", Picture)
        number.put(lambda w, h: number_band(reading, w, h, glyphs), key=(reading, glyphs))
        tables = self.query_one("#bob-tables")
        tables.display = not look.tiny
        if look.tiny or review is None:
            return
        due = view.want.throw
        line = next((t for t in review.throws if t.throw == due), None)
        if line is None:
            line = next((t for t in review.throws if t.lines), None)
        items = len(line.lines) + 2 if line is not None else 2
        tables.styles.height = min(max(len(review.throws) + 3, items), max(6, look.rows_here - 13))
        self.query_one("#bob-throws", Picture).put(
            lambda w, h: Content("\n").join(throw_rows(review, due=due, width=w, glyphs=glyphs)[:h]),
            key=(review, due, glyphs),
        )
        self.query_one("#bob-sum", Picture).put(
            lambda w, h: Content("\n").join(sum_rows(line, width=w, height=h)), key=(line, look.rows_here)
        )

    def explain(self) -> str:
        """Say what stands here.

        Returns
        -------
        str
            One sentence.
        """
        return (
            "Put the bobweight on the scale and add or take off what the large number says until it reads HOLD; "
            "the weight is taken by itself."
        )

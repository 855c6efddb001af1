"""The spin step: a polar picture a plane, the runs, the card for the drill, the cautions."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content

from bench.models.rotor_set import name_of, rotor_name, rotors_to_come
from bench.screens.cut_card import can_be_large, cut_card, cut_card_rows
from bench.screens.paint_spin import plane_picture, run_table
from bench.screens.panel import Look, Panel
from bench.screens.picture import Picture
from bench.screens.safe_text import clipped, folded, plain
from bench.use_cases.mount_parts import mounted_now_words
from bench.use_cases.view import BenchView

LEAST_PICTURE_ROWS = 11
SIDE_ROWS = 3
AROUND = 3
"""Rows of the screen around the panel: where, last sentence, keys."""
FULL_WIDTH = 78


def caution_rows(view: BenchView, width: int) -> list[Content]:
    """Return the cautions of what is due.

    Parameters
    ----------
    view : BenchView
        The bench.
    width : int
        Room in cells.

    Returns
    -------
    list[Content]
        A line each; empty when there are none.
    """
    return [plain(clipped(f"! {words}", width), "bold $ask") for words in view.cautions]


class SpinPanel(Panel):
    """Where the heavy spots are, where they came from, what to drill next."""

    def __init__(self) -> None:
        super().__init__(id="panel-spin")
        self.card_alone: bool | None = None
        """Whether the card takes the pictures' room; None decides by what can be read."""
        self.alone = False

    def compose(self) -> ComposeResult:
        """Lay out the card, then the pictures beside the runs, then the cautions.

        Yields
        ------
        Widget
            From top to bottom.
        """
        yield Picture(id="card")
        with Horizontal(id="pictures"):
            yield Picture(id="plane-0", classes="plane")
            yield Picture(id="plane-1", classes="plane")
            with Vertical(id="side"):
                yield Picture(id="runs")
        yield Picture(id="cautions")

    def show(self, view: BenchView, look: Look) -> None:
        """Show the spins.

        Parameters
        ----------
        view : BenchView
            The bench.
        look : Look
            How the screen is.
        """
        review, state, glyphs = view.review, view.job, look.glyphs
        if review is None or state is None:
            return
        cautions, proposal = len(view.cautions), view.proposal
        whole = max(3, look.rows_here - AROUND - look.banner_rows - cautions)
        beside = max(3, whole - LEAST_PICTURE_ROWS)
        width = self.size.width or FULL_WIDTH
        self.alone = (
            can_be_large(proposal, width, whole, glyphs, every=True)
            and not can_be_large(proposal, width, beside, glyphs, every=False)
            if self.card_alone is None
            else self.card_alone
        )
        most = whole if self.alone else beside
        card = self.query_one("#card", Picture)
        card.put(
            lambda w, _: cut_card(proposal, w, most, glyphs),
            key=(proposal, most, glyphs),
            rows=lambda w: cut_card_rows(proposal, w, most, glyphs),
        )
        self.query_one("#pictures").display = not look.tiny and not self.alone
        for index in (0, 1):
            picture = self.query_one(f"#plane-{index}", Picture)
            picture.display = index < len(review.planes)
            if picture.display:
                plane = review.planes[index]
                picture.put(
                    lambda w, h, plane=plane: plane_picture(view, plane, w, h, glyphs),  # type: ignore[misc]
                    key=(plane, state.spins, proposal, glyphs),
                )
        self.query_one("#runs", Picture).put(
            lambda w, h: Content("\n").join([run_table(state, w, h - SIDE_ROWS), Content(""), *whole_words(view, w)]),
            key=(state.spins, review.percent_figure, review.warnings, state.mounted, state.stage, state.spec.mounted),
        )
        self.query_one("#cautions", Picture).put(
            lambda w, _: Content("\n").join(caution_rows(view, w)), key=("cautions", view.cautions)
        )

    def explain(self) -> str:
        """Say what stands here.

        Returns
        -------
        str
            One sentence.
        """
        return (
            "Spin; the run is taken from the machine's text by itself. Each picture shows a plane from the front, "
            "the crank's mark at the top, angles to the left; the shaded middle is the tolerance. Then drill what "
            "the card says, record it, and spin again."
        )


def whole_words(view: BenchView, width: int) -> list[Content]:
    """Return what is said of all planes together.

    Parameters
    ----------
    view : BenchView
        The bench.
    width : int
        Room in cells.

    Returns
    -------
    list[Content]
        The percentage some shops quote, and warnings.
    """
    review = view.review
    if review is None:
        return []
    rows = [plain(line, "$faint") for words in set_words(view) for line in folded(words, width, indent=2)]
    if review.percent_figure is not None:
        rows.append(plain(clipped(f"shop figure {review.percent_figure:.3f} % (no verdict)", width), "$faint"))
    rows += [plain(line, "bold $ask") for words in review.warnings for line in folded(f"! {words}", width, indent=2)]
    return rows


def set_words(view: BenchView) -> list[str]:
    """Return which rotor of a set is balanced and what is mounted on the crank.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    list[str]
        Empty where the job is one rotor and nothing belongs on the crank.
    """
    state = view.job
    if state is None:
        return []
    rows: list[str] = []
    count = len(state.rotors_done) + 1 + len(rotors_to_come(state))
    if count > 1:
        rows.append(f"{rotor_name(state)}: rotor {len(state.rotors_done) + 1} of {count}")
    rows += [
        f"{name_of(done.stage, done.spec)}: {'inside' if done.inside else 'NOT inside'}, frozen"
        for done in state.rotors_done
    ]
    mounted = mounted_now_words(state)
    return [*rows, mounted] if mounted else rows

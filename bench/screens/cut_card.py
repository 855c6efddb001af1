"""The card for the drill: where, how much, how deep, large enough to read at the machine."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from textual.content import Content

from bench.screens.big_text import big_lines
from bench.screens.glyphs import GlyphSet
from bench.screens.safe_text import clipped, folded, plain, safe
from bench.use_cases.view import CutLine, Proposal

BIG_CUT_ROWS = (4, 3)
"""Rows of large letters a cut, tried in this order; the hole stands below them in one line more."""


def hole_words(cut: CutLine) -> str:
    """Return how a cut is made.

    Parameters
    ----------
    cut : CutLine
        The cut.

    Returns
    -------
    str
        Grams, drill and depth where they are known.
    """
    verb = "take off" if cut.grams >= 0 else "add"
    parts = [f"{verb} {abs(cut.grams):.1f} g"]
    if cut.diameter_mm is not None:
        parts.append(f"drill {cut.diameter_mm:g} mm")
    if cut.depth_mm is not None and cut.from_depth_mm > 0.0:
        parts.append(f"{cut.from_depth_mm:.1f} to {cut.depth_mm:.1f} mm")
    elif cut.depth_mm is not None:
        parts.append(f"{cut.depth_mm:.1f} mm deep")
    return ", ".join(parts)


def _big_words(cut: CutLine) -> tuple[str, ...]:
    weight = f"{'' if cut.grams >= 0 else '+'}{abs(cut.grams):.1f} g"
    hole = ""
    if cut.diameter_mm is not None and cut.depth_mm is not None:
        hole = f"  Ø{cut.diameter_mm:g} x {cut.depth_mm:.1f}"
    place = f"{safe(cut.station or cut.plane)} {cut.angle_deg:.0f}°"
    return f"{place}  {weight}{hole}", f"{place} {hole}" if hole else f"{place} {weight}", f"{place} {weight}", place


def _form(cuts: Sequence[CutLine], *, width: int, rows: int, glyphs: GlyphSet) -> int | None:
    """Return which wording of `_big_words` fits for every cut, so that all of them tell the same; None for none."""
    for form in range(4):
        if all(
            big_lines(_big_words(cut)[form], width=width, height=rows, blocks=glyphs.blocks, most=1) is not None
            for cut in cuts
        ):
            return form
    return None


def _all_cut_lines(cuts: Sequence[CutLine], *, width: int, rows: int, glyphs: GlyphSet) -> list[list[Content]]:
    """Return the lines of each cut: large ones where they fit, then one small one."""
    form = _form(cuts, width=width, rows=rows, glyphs=glyphs)
    drawn: list[list[Content]] = []
    for number, cut in enumerate(cuts, 1):
        place = cut.station or cut.plane
        words = f"cut {number} of {len(cuts)}: {place} at {cut.angle_deg:.1f}°, {hole_words(cut)}"
        large = (
            None
            if form is None
            else big_lines(_big_words(cut)[form], width=width, height=rows, blocks=glyphs.blocks, most=1)
        )
        drawn.append(
            [
                *(Content.styled(line, "bold $accent") for line in large or ()),
                plain(clipped(words, width), "bold"),
            ]
        )
    return drawn


def cut_card(proposal: Proposal | None, width: int, height: int, glyphs: GlyphSet) -> Content:
    """Return the card: large as far as there is room, then why, then what to expect.

    Parameters
    ----------
    proposal : Proposal or None
        The next cuts.
    width, height : int
        The box in cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        At most `height` lines.
    """
    if proposal is None:
        return Content.styled("Spin, then the next cut stands here.", "$faint")
    words = [proposal.why, *proposal.expected, *proposal.answer]
    if not proposal.cuts:
        # nothing to drill: the reason is what has to be read, all of it
        wrapped = [line for text in words for line in wrap(safe(text), max(width, 20))]
        return Content("\n").join([plain(line, "bold $ask" if proposal.doubt else "") for line in wrapped[:height]])
    count = len(proposal.cuts)
    large: list[list[Content]] = []
    for rows in BIG_CUT_ROWS:
        large = _all_cut_lines(proposal.cuts, width=width, rows=rows, glyphs=glyphs)
        # the reason and what the next run should show in each plane belong to the card
        if sum(map(len, large)) + 1 + len(proposal.expected) <= height:
            break
    drawn: list[Content] = []
    for number, lines in enumerate(large, 1):
        # every later cut still needs its line, and the reason one
        drawn += lines if len(drawn) + len(lines) + count - number < height else lines[-1:]
    # the reason may go over two lines, where what the next run should show keeps its own
    spare = height - len(drawn) - len(proposal.expected)
    why = [plain(line) for line in folded(proposal.why, width, most=2 if spare > 1 else 1)]
    rest = [plain(clipped(text, width), "$faint") for text in words[1:]]
    return Content("\n").join((drawn + why + rest)[:height])


def can_be_large(proposal: Proposal | None, width: int, height: int, glyphs: GlyphSet, *, every: bool) -> bool:
    """Tell whether cuts of a card stand there in large letters.

    Parameters
    ----------
    proposal : Proposal or None
        The next cuts.
    width, height : int
        The box in cells.
    glyphs : GlyphSet
        What the console can draw.
    every : bool
        Every cut, or at least the first.

    Returns
    -------
    bool
        False also when no cut is proposed.
    """
    if proposal is None or not proposal.cuts:
        return False
    lines = _all_cut_lines(proposal.cuts, width=width, rows=BIG_CUT_ROWS[-1], glyphs=glyphs)
    needed = sum(map(len, lines)) if every else len(lines[0]) + len(lines) - 1
    return len(lines[0]) > 1 and needed < height


def cut_card_rows(proposal: Proposal | None, width: int, most: int, glyphs: GlyphSet) -> int:
    """Return how many lines the card takes.

    Parameters
    ----------
    proposal : Proposal or None
        The next cuts.
    width, most : int
        The room in cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    int
        At most `most`.
    """
    return len(cut_card(proposal, width, most, glyphs).plain.split("\n"))

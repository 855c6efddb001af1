"""What is heavy in a set and how many grams come off which part."""

from __future__ import annotations

from textual.content import Content

from bench.screens.glyphs import GlyphSet
from bench.screens.palette import state_style
from bench.screens.safe_text import clipped, padded, plain, safe
from bench.use_cases.pair_parts import Pairing
from bench.use_cases.view import Review, SetLine

BAR = 24
NUMBER_COLUMNS = 20


def heavy_lines(review: Review, glyphs: GlyphSet, *, width: int) -> list[Content]:
    """Return a sentence for each part that is out of its set.

    Parameters
    ----------
    review : Review
        The job, computed.
    glyphs : GlyphSet
        What the console can draw.
    width : int
        Room in cells.

    Returns
    -------
    list[Content]
        Empty when every set is within its limit.
    """
    lines: list[Content] = []
    for line in review.sets:
        for place, off, out in zip(line.places, line.take_off_g, line.out, strict=True):
            if out and off is not None and line.limit_g is not None:
                need = max(off - line.limit_g, 0.0)
                words = (
                    f"{glyphs.bad} {safe(line.label)} {place}: {off:.1f} g above the lightest, allowed "
                    f"{line.limit_g:g} g: take {need:.1f} g off at least, {off:.1f} g to be equal"
                )
                lines.append(plain(clipped(words, width), "bold $bad"))
    return lines


def _row(line: SetLine, index: int, most: float, width: int, glyphs: GlyphSet) -> Content:
    place, grams, off = line.places[index], line.grams[index], line.take_off_g[index]
    if grams is None or off is None:
        return Content.styled(f"{place:>4}  open", "$faint")
    bar = max(4, min(BAR, width - NUMBER_COLUMNS - 18))
    filled = round(bar * off / most) if most > 0 else 0
    drawn = glyphs.bar_full * filled + " " * (bar - filled)
    if line.out[index]:
        words, style = f"take {off:.1f} g off", state_style("bad").replace(" reverse", "")
        sign = glyphs.bad
    elif off == 0:
        words, style, sign = "the lightest", "bold $accent", " "
    else:
        words, style, sign = f"{off:.1f} g above", "", " "
    return Content.styled(f"{place:>4}  {padded(grams, 8, right=True)} g  {drawn} {sign} {words}", style)


def match_card(review: Review, kind: str, *, width: int, glyphs: GlyphSet) -> Content:
    """Return a set, part by part, as bars above its lightest.

    Parameters
    ----------
    review : Review
        The job, computed.
    kind : str
        Key of the set.
    width : int
        Room in cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        A line a part; what to do below.
    """
    line = next((line for line in review.sets if line.kind == kind), None)
    if line is None:
        return Content("This job weighs no parts.")
    most = max([line.limit_g or 0.0, *(off for off in line.take_off_g if off is not None)], default=0.0)
    limit = "no limit of its own" if line.limit_g is None else f"allowed spread {line.limit_g:g} g"
    spread = "not weighed yet" if line.spread_g is None else f"spread {line.spread_g:.1f} g"
    heavy = [i for i, out in enumerate(line.out) if out]
    rows = [
        Content.assemble(Content.styled(safe(line.label), "bold"), f"   {spread}, {limit}"),
        Content(""),
        *(_row(line, index, most, width, glyphs) for index in range(len(line.places))),
        Content(""),
    ]
    if not any(grams is not None for grams in line.grams):
        rows.append(Content("Weigh this set first: lay the parts on the scale one after another."))
    elif heavy:
        rows.append(Content.styled("Grind or swap the marked ones, then weigh them again: click one, or g.", "bold"))
    else:
        rows.append(Content.styled(f"{glyphs.good} Nothing is too heavy in this set.", state_style("good")))
    return Content("\n").join(rows)


def queue_lines(review: Review, *, width: int) -> list[Content]:
    """Return the parts that are to be weighed again after grinding.

    Parameters
    ----------
    review : Review
        The job, computed.
    width : int
        Room in cells.

    Returns
    -------
    list[Content]
        One line, or none.
    """
    waiting = [
        f"{safe(line.label)} {place}"
        for line in review.sets
        for place, out in zip(line.places, line.out, strict=True)
        if out
    ]
    return (
        [plain(clipped(f"to weigh again after grinding: {', '.join(waiting)}", width), "bold $ask")] if waiting else []
    )


def pairing_lines(found: Pairing | str, glyphs: GlyphSet) -> list[Content]:
    """Return the best pairing in words.

    Parameters
    ----------
    found : Pairing or str
        The pairing, or why there is none.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    list[Content]
        The spread before and after, and which part goes where.
    """
    if isinstance(found, str):
        return [Content(""), plain(f"{glyphs.ask} {found}", "bold underline $ask")]
    sure = "no better one exists" if found.proven else "the best found in the time"
    rows = [
        Content(""),
        plain(
            f"best pairing of the loose parts: the cylinders' spread goes from {found.before_g:.1f} g "
            f"to {found.after_g:.1f} g ({sure})",
            "bold $accent",
        ),
    ]
    for name in dict.fromkeys(name for name, _, _ in found.moves):
        moves = ", ".join(f"{part} to {cylinder}" for kind, part, cylinder in found.moves if kind == name)
        rows.append(plain(f"{name}: {moves}"))
    return rows if found.moves else [*rows, Content("every loose part is at its best place already")]

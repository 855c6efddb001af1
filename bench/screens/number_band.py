"""The reading in digits for the far side of the room, and beside it, always at the same place, the verdict."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from textual.content import Content

from bench.screens.big_text import big_lines
from bench.screens.glyphs import GlyphSet
from bench.screens.palette import state_style
from bench.screens.safe_text import clipped, padded, safe
from bench.use_cases.view import BenchView, Doing

VERDICT_SHARE = 0.32
VERDICT_LEAST = 24
STACKED_BELOW = 60
GAP = 2


@dataclass(frozen=True, slots=True)
class Verdict:
    """What can be said of what lies on the pan.

    Attributes
    ----------
    word : str
        One or two words, drawn large.
    level : str
        "good", "ask", "bad" or "info".
    small : str
        A few words below it.
    """

    word: str
    level: str
    small: str


@dataclass(frozen=True, slots=True)
class Reading:
    """What is drawn large.

    Attributes
    ----------
    digits : str
        The number.
    unit : str
        Its unit.
    verdict : Verdict
        What can be said of it.
    """

    digits: str
    unit: str
    verdict: Verdict


_PHASES = {
    "waiting for the scale": Verdict("no scale", "bad", "waiting for the scale"),
    "clear the pan": Verdict("clear pan", "ask", "empty the pan"),
    "pan empty": Verdict("lay it", "info", "the pan is empty"),
    "settling": Verdict("wait", "info", "settling"),
    "taken, lift it": Verdict("taken", "good", "kept: lift it off"),
    "asking": Verdict("look", "ask", "see the question"),
    "held": Verdict("held", "ask", "held"),
}


def weigh_reading(view: BenchView) -> Reading:
    """Return what the weigh step draws large.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    Reading
        The scale's number as it stands there.
    """
    live = view.live
    if view.question is not None:
        verdict = Verdict("look", "ask", "see the question")
    elif view.want.doing is Doing.LIFT:
        verdict = _PHASES["taken, lift it"]
    elif view.want.doing is Doing.EMPTY:
        verdict = _PHASES["clear the pan"]
    elif view.aside and live.phase == "pan empty":
        verdict = Verdict("lay it", "info", safe(view.aside))
    elif view.want.doing is Doing.NOTHING and live.phase == "pan empty":
        verdict = Verdict("idle", "info", "nothing is due here")
    else:
        verdict = _PHASES.get(live.phase, Verdict("wait", "info", live.phase))
    return Reading(safe(live.shown), safe(live.unit), verdict)


def bobweight_reading(view: BenchView) -> Reading:
    """Return what the bobweight step draws large: what is still to be added or taken off.

    Parameters
    ----------
    view : BenchView
        The bench.

    Returns
    -------
    Reading
        The difference without a sign; the word says which way.
    """
    live, difference = view.live, view.live.difference_g
    pan = f"scale shows {live.shown} {live.unit}"
    if view.question is not None:
        return Reading(safe(live.shown), safe(live.unit), Verdict("look", "ask", "see the question"))
    if difference is None or not isfinite(difference):
        known = weigh_reading(view)
        return Reading(known.digits, known.unit, known.verdict)
    digits = f"{abs(difference):.1f}"
    if view.want.doing is Doing.LIFT:
        return Reading(digits, "g", Verdict("made", "good", "kept: lift it off"))
    band = view.job.spec.tolerance.bobweight_g if view.job is not None else 0.0
    if abs(difference) <= band:
        return Reading(digits, "g", Verdict("hold", "good", f"within {band:g} g; {pan}"))
    if difference > 0:
        return Reading(digits, "g", Verdict("add", "info", pan))
    return Reading(digits, "g", Verdict("take off", "info", pan))


def _large(text: str, width: int, height: int, glyphs: GlyphSet) -> list[str]:
    lines = big_lines(text, width=width, height=height, blocks=glyphs.blocks)
    return [clipped(text, width)] if lines is None else lines


def _verdict_lines(verdict: Verdict, width: int, height: int, glyphs: GlyphSet) -> list[str]:
    below = [clipped(f"{glyphs.level(verdict.level)} {verdict.small}", width)] if height > 4 else []
    room = height - len(below)
    for words in ([verdict.word], verdict.word.split(" ")):
        drawn = [
            big_lines(word, width=width, height=room // len(words), blocks=glyphs.blocks, most=2) for word in words
        ]
        if all(lines is not None for lines in drawn):
            return [line for lines in drawn if lines is not None for line in lines] + below
    return [clipped(f"{glyphs.level(verdict.level)} {verdict.word.upper()}", width), *below]


def number_band(reading: Reading, width: int, height: int, glyphs: GlyphSet) -> Content:
    """Return the band for a box.

    Parameters
    ----------
    reading : Reading
        What to draw.
    width, height : int
        The box in cells.
    glyphs : GlyphSet
        What the console can draw.

    Returns
    -------
    Content
        Number on the left, verdict on the right; one above the other on a narrow screen.
    """
    style = state_style(reading.verdict.level) or "bold"
    level = style.replace(" reverse", "").replace(" underline", "")
    if width < STACKED_BELOW:
        upper = (height + 1) // 2
        number = _large(reading.digits, width, upper, glyphs)
        verdict = _verdict_lines(reading.verdict, width, height - len(number), glyphs)
        return Content("\n").join(
            [Content.styled(line, level) for line in number] + [Content.styled(line, style) for line in verdict]
        )
    right = max(VERDICT_LEAST, int(width * VERDICT_SHARE))
    left = width - right - GAP
    number = _large(reading.digits, left, height, glyphs)
    verdict = _verdict_lines(reading.verdict, right, height, glyphs)
    top = max((height - max(len(number), len(verdict))) // 2, 0)
    lines = [Content("")] * top
    for row in range(max(len(number), len(verdict))):
        digits = number[row] if row < len(number) else ""
        if row == len(number) - 1 and len(digits) + 2 + len(reading.unit) <= left:
            digits = f"{digits} {reading.unit}"
        words = verdict[row] if row < len(verdict) else ""
        lines.append(
            Content.assemble(
                Content.styled(padded(digits, left), level), " " * GAP, Content.styled(padded(words, right), level)
            )
        )
    return Content("\n").join(lines)

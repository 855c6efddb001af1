"""Sets of characters to draw with, for consoles of every age."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from bench.screens.dots import BRAILLE, HALVES, ONES, QUADRANTS, DotShape

MARK_WORDS: Final = ("open", "taken", "retaken", "typed", "out of set", "doubtful", "skipped")


@dataclass(frozen=True, slots=True)
class GlyphSet:
    """What a console can draw.

    Attributes
    ----------
    name : str
        As settings call it.
    dots : DotShape
        How the polar picture is dotted.
    blocks : bool
        Half blocks may be used for big letters; otherwise letters are made of "#".
    marks : MappingProxyType[str, str]
        A sign a cell state.
    good, ask, bad, info : str
        Signs of a verdict.
    """

    name: str
    dots: DotShape
    blocks: bool
    good: str
    ask: str
    bad: str
    info: str
    here: str
    done: str
    to_do: str
    rule: str
    bar_full: str
    bar_empty: str
    bar_limit: str
    tick_on: str
    tick_off: str
    zone: str
    cut: str
    spin: str
    marks: MappingProxyType[str, str] = field(default_factory=lambda: MappingProxyType({}))
    hole: str = "○"
    keep_out: str = "x"

    def mark(self, state: str) -> str:
        """Return the sign of a cell's state, a question mark for one that is not known.

        Parameters
        ----------
        state : str
            One of `MARK_WORDS`.

        Returns
        -------
        str
            One character.
        """
        return self.marks.get(state, "?")

    def level(self, level: str) -> str:
        """Return the sign of a level.

        Parameters
        ----------
        level : str
            "good", "bad", "ask" or anything else.

        Returns
        -------
        str
            One character.
        """
        return {"good": self.good, "ask": self.ask, "bad": self.bad}.get(level, self.info)


_MARKS = MappingProxyType(
    {
        "open": "○",
        "taken": "●",
        "retaken": "R",
        "typed": "T",
        "out of set": "▲",
        "doubtful": "?",
        "skipped": "»",
    }
)
_ASCII_MARKS = MappingProxyType(
    {"open": ".", "taken": "*", "retaken": "R", "typed": "T", "out of set": "!", "doubtful": "?", "skipped": ">"}
)


def _with_blocks(name: str, dots: DotShape) -> GlyphSet:
    return GlyphSet(
        name=name,
        dots=dots,
        blocks=True,
        good="●",
        ask="?",
        bad="▲",
        info="·",
        here="►",
        done="●",
        to_do="○",
        rule="─",
        bar_full="█",
        bar_empty="░",
        bar_limit="│",
        tick_on="[■]",
        tick_off="[ ]",
        zone=" ",
        cut="▼",
        spin="●",
        marks=_MARKS,
    )


GLYPH_SETS: Final = {
    "quadrant": _with_blocks("quadrant", QUADRANTS),
    "braille": _with_blocks("braille", BRAILLE),
    "half": _with_blocks("half", HALVES),
    "ascii": GlyphSet(
        name="ascii",
        dots=ONES,
        blocks=False,
        good="*",
        ask="?",
        bad="!",
        info="-",
        here=">",
        done="*",
        to_do=".",
        rule="-",
        bar_full="#",
        bar_empty=".",
        bar_limit="|",
        tick_on="[x]",
        tick_off="[ ]",
        zone=".",
        cut="V",
        spin="o",
        marks=_ASCII_MARKS,
        hole="o",
    ),
}

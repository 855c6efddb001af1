"""Colours of our own: four themes, each a set of named colours, safe for colour-blind eyes."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Final

from textual.theme import Theme


@dataclass(frozen=True, slots=True)
class Shades:
    """The colours of a theme, by what they are for.

    Attributes
    ----------
    ground, raised : str
        Backgrounds: the bench top and what lies on it.
    ink, faint : str
        Text and lesser text.
    accent : str
        Where you are and what is due.
    good, ask, bad : str
        States; never the only sign of them.
    zone : str
        Background of the tolerance zone and of filled bars.
    """

    ground: str
    raised: str
    ink: str
    faint: str
    accent: str
    good: str
    ask: str
    bad: str
    zone: str


SHADES: Final = {
    "dusk": Shades(
        ground="#13191d",
        raised="#1d262b",
        ink="#ece7db",
        faint="#a3adb0",
        accent="#d9c7f2",
        good="#67c6f5",
        ask="#fff0a8",
        bad="#ff8550",
        zone="#1b4056",
    ),
    "chalk": Shades(
        ground="#f7f4ec",
        raised="#ebe6d8",
        ink="#1b2023",
        faint="#555b5f",
        accent="#5b2f86",
        good="#0a5a8c",
        ask="#2f2a00",
        bad="#b03a00",
        zone="#c9e4f2",
    ),
    "stark": Shades(
        ground="#000000",
        raised="#101010",
        ink="#ffffff",
        faint="#d6d6d6",
        accent="#e6d8ff",
        good="#7fd4ff",
        ask="#fff15c",
        bad="#ff9d6b",
        zone="#003a57",
    ),
    "mono": Shades(
        ground="#000000",
        raised="#1a1a1a",
        ink="#ffffff",
        faint="#bdbdbd",
        accent="#ffffff",
        good="#ffffff",
        ask="#ffffff",
        bad="#ffffff",
        zone="#4a4a4a",
    ),
}
"""dusk is the dark default, chalk the light one, stark has high contrast, mono has no hue at all."""

THEME_WORDS: Final = {
    "dusk": "dark",
    "chalk": "light",
    "stark": "high contrast",
    "mono": "no colours",
}

STATE_STYLES: Final = {"good": "bold $good", "ask": "bold underline $ask", "bad": "bold reverse $bad"}


def state_style(level: str) -> str:
    """Return the style of a level; each differs by more than its colour.

    Parameters
    ----------
    level : str
        "good", "ask", "bad" or anything else.

    Returns
    -------
    str
        A style.
    """
    return STATE_STYLES.get(level, "")


def variables_of(shades: Shades) -> dict[str, str]:
    """Return our named colours as variables for styles.

    Parameters
    ----------
    shades : Shades
        The colours.

    Returns
    -------
    dict[str, str]
        "ground", "raised", "ink", "faint", "accent", "good", "ask", "bad", "zone".
    """
    named = asdict(shades)
    return {
        **named,
        "input-cursor-background": shades.ink,
        "input-cursor-foreground": shades.ground,
        "input-selection-background": shades.zone,
        "block-cursor-background": shades.accent,
        "block-cursor-foreground": shades.ground,
        "scrollbar": shades.faint,
        "scrollbar-background": shades.raised,
    }


def themes() -> tuple[Theme, ...]:
    """Return the themes as the screen library takes them.

    Returns
    -------
    tuple[Theme, ...]
        One each of `SHADES`.
    """
    return tuple(
        Theme(
            name=name,
            primary=shades.accent,
            secondary=shades.good,
            accent=shades.accent,
            foreground=shades.ink,
            background=shades.ground,
            surface=shades.raised,
            panel=shades.raised,
            success=shades.good,
            warning=shades.ask,
            error=shades.bad,
            dark=name != "chalk",
            variables=variables_of(shades),
        )
        for name, shades in SHADES.items()
    )

"""Reads the guide's pages out of the package."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from typing import Final

NAMES: Final = (
    "first-job",
    "connect-a-scale",
    "teach-a-layout",
    "weigh-again",
    "spin-and-drill",
    "read-the-certificate",
    "bring-back",
    "why-three-lines",
    "what-the-seal-proves",
    "pedal-and-scanner",
    "tones-and-speech",
    "sheets-in-and-out",
    "several-benches",
    "wall-screen",
    "commands",
)
"""In the order they are shown."""


@dataclass(frozen=True, slots=True)
class Page:
    """One page.

    Attributes
    ----------
    name : str
        What it is asked for with.
    title : str
        Its heading.
    text : str
        Markdown, heading included.
    """

    name: str
    title: str
    text: str


def page(name: str) -> Page:
    """Return one page.

    Parameters
    ----------
    name : str
        One of `NAMES`.

    Returns
    -------
    Page
        The page.

    Raises
    ------
    KeyError
        When the guide has no such page.
    """
    if name not in NAMES:
        raise KeyError(name)
    text = files("bench.guide").joinpath(f"{name}.md").read_text(encoding="utf-8")
    return Page(name, text.splitlines()[0].removeprefix("# ").strip(), text)


def pages() -> tuple[Page, ...]:
    """Return all pages.

    Returns
    -------
    tuple[Page, ...]
        In order.
    """
    return tuple(page(name) for name in NAMES)

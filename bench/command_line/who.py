"""Sees that somebody is named before a command records: asked once at a terminal, kept until it is changed."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from bench.command_line.settings import LONGEST_INITIALS, with_name

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings

MOST_ASKED = 3


def somebody(places: Places, settings: Settings) -> Settings:
    """Return settings that name who is at the bench; ask at a terminal, say so elsewhere.

    Parameters
    ----------
    places : Places
        Where the settings are kept.
    settings : Settings
        As read.

    Returns
    -------
    Settings
        With the name, where one was given.
    """
    from bench.command_line.say import talk

    if settings.by:
        return settings
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        talk("the entry names nobody: --by AB names one, `spinledger settings --set by=AB` keeps one")
        return settings
    by = _ask(settings.all_names)
    if not by:
        talk("the entry names nobody")
        return settings
    trouble = keep_name(places, settings, by)
    if trouble:
        talk(trouble)
    return settings.model_copy(update={"by": by})


def keep_name(places: Places, settings: Settings, by: str) -> str:
    """Keep who is at the bench, and add new initials to the names.

    Parameters
    ----------
    places : Places
        Where the settings are kept.
    settings : Settings
        As read.
    by : str
        Initials.

    Returns
    -------
    str
        What is wrong; empty when nothing is.
    """
    from bench.command_line.settings_writing import keep
    from bench.use_cases.errors import RefusedError

    changes: dict[tuple[str, ...], str | None] = {("by",): by}
    if by not in settings.all_names:
        changes["names",] = " ".join(with_name(settings.all_names, by))
    try:
        keep(places.settings, changes)
    except RefusedError as fault:
        return str(fault)
    return ""


def _ask(names: tuple[str, ...]) -> str:
    from bench.command_line.say import printable, talk

    bar = "  ".join(f"{number} {printable(name)}" for number, name in enumerate(names[:9], 1))
    for _ in range(MOST_ASKED):
        talk(f"Who is at the bench? {bar + ', or ' if bar else ''}initials (Enter: nobody):")
        typed = "".join(sys.stdin.readline().split())
        if typed.isdigit() and 1 <= int(typed) <= len(names[:9]):
            return names[int(typed) - 1]
        if len(typed) <= LONGEST_INITIALS and not typed.isdigit():
            return typed
        talk(f"'{printable(typed[:40])}' is no name of the bar and no initials of up to {LONGEST_INITIALS} letters")
    return ""

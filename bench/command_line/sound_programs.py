"""Which program of this computer plays a sound file or speaks a sentence; none is needed, none is installed."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from typing import Final

Which = Callable[[str], str | None]

PLAYERS: Final[dict[str, tuple[tuple[str, ...], ...]]] = {
    "linux": (("pw-play",), ("paplay",), ("aplay", "-q")),
    "darwin": (("afplay",),),
}
"""Program and its words before the file's name, by operating system; the first that is there is taken."""

_SPEAK_WINDOWS: Final = (
    "Add-Type -AssemblyName System.Speech; "
    "(New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak([Console]::In.ReadToEnd())"
)
SPEAKERS: Final[dict[str, tuple[tuple[str, ...], ...]]] = {
    "linux": (("espeak-ng", "--stdin"), ("espeak", "--stdin")),
    "darwin": (("say", "-f", "-"),),
    "win32": (("powershell", "-NoProfile", "-NonInteractive", "-Command", _SPEAK_WINDOWS),),
}
"""Each takes what it is to say from its standard input: no word of a job ever becomes part of a command."""


def _first(commands: tuple[tuple[str, ...], ...], which: Which) -> tuple[str, ...]:
    for name, *words in commands:
        found = which(name)
        if found:
            return found, *words
    return ()


def player(*, platform: str = sys.platform, which: Which = shutil.which) -> tuple[str, ...]:
    """Return how a sound file is played here.

    Parameters
    ----------
    platform : str
        As `sys.platform` names it.
    which : Which
        Finds a program.

    Returns
    -------
    tuple[str, ...]
        Program and words before the file's name; ("winsound",) where Python itself plays; empty when nothing does.
    """
    if platform == "win32":
        return ("winsound",)
    return _first(PLAYERS.get(platform, ()), which)


def speaker(*, platform: str = sys.platform, which: Which = shutil.which) -> tuple[str, ...]:
    """Return how a sentence is spoken here.

    Parameters
    ----------
    platform : str
        As `sys.platform` names it.
    which : Which
        Finds a program.

    Returns
    -------
    tuple[str, ...]
        A command that speaks its standard input; empty when there is none.
    """
    return _first(SPEAKERS.get(platform, ()), which)


def missing_words(commands: dict[str, tuple[tuple[str, ...], ...]], *, platform: str = sys.platform) -> str:
    """Return which programs would do.

    Parameters
    ----------
    commands : dict[str, tuple[tuple[str, ...], ...]]
        `PLAYERS` or `SPEAKERS`.
    platform : str
        As `sys.platform` names it.

    Returns
    -------
    str
        Names with "or" between them; "a program this system has" where none is known.
    """
    names = [command[0] for command in commands.get(platform, ())]
    return " or ".join(names) or "a program that this system does not have"

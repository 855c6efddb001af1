"""Runs the dashboard on a running bench."""

from __future__ import annotations

import contextlib
import sys
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.screens.shop import Wish

if TYPE_CHECKING:
    from collections.abc import Callable

    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from bench.command_line.wiring import RunningBench
    from bench.use_cases.view import Tone

    Player = Callable[[Tone], bool | None]


def has_terminal() -> bool:
    """Tell whether there is a terminal to draw on, and say what else works where there is none.

    Returns
    -------
    bool
        True when there is.
    """
    from bench.command_line.say import talk

    if sys.stdin.isatty() and sys.stderr.isatty():
        return True
    talk("the dashboard needs a terminal; `spinledger weigh JOB` works in plain lines")
    return False


def show_dashboard(
    running: RunningBench,
    places: Places,
    settings: Settings,
    *,
    first_job: str | None = None,
    tour: bool = False,
    greeting: str = "",
) -> tuple[int, Wish]:
    """Show the dashboard until the person leaves it.

    Parameters
    ----------
    running : RunningBench
        The bench.
    places : Places
        Where the settings are kept.
    settings : Settings
        Looks, keys and sound.
    first_job : str | None
        Job to open.
    tour : bool
        Begin with the tour.
    greeting : str
        What it says first; may be empty.

    Returns
    -------
    tuple[int, Wish]
        Exit code, and what shall come next.
    """
    if not has_terminal():
        return ExitCode.USAGE, Wish.LEAVE
    from bench.command_line.collecting import collect_as_usual
    from bench.command_line.terminal_reset import put_right
    from bench.command_line.this_computer import ThisComputer
    from bench.screens.app import BenchApp
    from bench.screens.prompts import SpokenPrompts

    tones, speaker, ends = _ears(settings)
    app = BenchApp(
        running.desk,
        first_job=first_job,
        tone_player=tones,
        keymap=settings.keys,
        glyphs=settings.glyphs,
        theme=settings.theme or None,
        shop=ThisComputer(places, settings),
        tour=tour,
    )
    app.greeting = greeting
    app.prompts = SpokenPrompts(speaker)
    app.after_first_paint = collect_as_usual
    try:
        app.run()
    except BaseException:
        # a signal in the very moment of the start comes before the library could undo what it has begun
        with contextlib.suppress(OSError):
            put_right(sys.__stderr__ or sys.stderr)
        raise
    finally:
        for end in ends:
            end()
    if running.desk.fault is not None:
        raise running.desk.fault
    return int(app.return_code or 0), app.wish


def _ears(settings: Settings) -> tuple[Player | None, Callable[[str], None] | None, tuple[Callable[[], None], ...]]:
    """Return what plays tones, None for the terminal's bell; what speaks, None for nothing; and what ends them."""
    if settings.sound != "tones" and settings.speech == "none":
        return (_silent if settings.sound == "none" else None), None, ()
    from bench.command_line import sound_programs
    from bench.command_line.ears import Speaker, TonePlayer

    tones = TonePlayer(sound_programs.player()) if settings.sound == "tones" else None
    speaker = Speaker(sound_programs.speaker()) if settings.speech == "prompts" else None
    ends = tuple(ear.close for ear in (tones, speaker) if ear is not None)
    return tones or (_silent if settings.sound == "none" else None), speaker, ends


def _silent(_tone: Tone) -> None:
    return

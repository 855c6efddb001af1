"""Runs the dashboard on a running bench."""

from __future__ import annotations

import contextlib
import sys
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.screens.shop import Wish

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from bench.command_line.wiring import RunningBench
    from bench.use_cases.view import Tone


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
    from bench.command_line.terminal_reset import put_right
    from bench.command_line.this_computer import ThisComputer
    from bench.screens.app import BenchApp

    app = BenchApp(
        running.desk,
        first_job=first_job,
        tone_player=_silent if settings.sound == "none" else None,
        keymap=settings.keys,
        glyphs=settings.glyphs,
        theme=settings.theme or None,
        shop=ThisComputer(places, settings),
        tour=tour,
    )
    app.greeting = greeting
    try:
        app.run()
    except BaseException:
        # a signal in the very moment of the start comes before the library could undo what it has begun
        with contextlib.suppress(OSError):
            put_right(sys.__stderr__ or sys.stderr)
        raise
    if running.desk.fault is not None:
        raise running.desk.fault
    return int(app.return_code or 0), app.wish


def _silent(_tone: Tone) -> None:
    return

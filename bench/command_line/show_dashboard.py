"""Runs the dashboard on a running bench."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode

if TYPE_CHECKING:
    from bench.command_line.wiring import RunningBench


def show_dashboard(running: RunningBench, *, first_job: str | None = None) -> int:
    """Show the dashboard until the person leaves it.

    Parameters
    ----------
    running : RunningBench
        The bench.
    first_job : str | None
        Job to open.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.say import talk

    if not sys.stdin.isatty() or not sys.stderr.isatty():
        talk("the dashboard needs a terminal; `spinledger weigh JOB` works in plain lines")
        return ExitCode.USAGE
    from bench.screens.app import BenchApp

    app = BenchApp(running.desk, first_job=first_job)
    app.run()
    if running.desk.fault is not None:
        raise running.desk.fault
    return int(app.return_code or 0)

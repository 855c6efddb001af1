"""`spinledger` and `spinledger open JOB`: the dashboard."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, add_scale, places_and_settings

if TYPE_CHECKING:
    from bench.screens.shop import Wish
    from bench.use_cases.view import BenchView

AFTER_THE_DEMO = "what you did on the simulated bench is kept apart from your jobs: b goes there, then j lists it"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job", nargs="?", help="job number; the last one when left out")
    parser.add_argument("--folder", help="where the balancing machine leaves its texts")
    add_scale(parser)
    add_by(parser)


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.demo_command import show_demo
    from bench.command_line.say import talk
    from bench.command_line.show_dashboard import has_terminal
    from bench.screens.shop import Wish

    if not has_terminal():
        return ExitCode.USAGE
    job, greeting = args.job, ""
    while True:
        code, wish, left = _once(args, job, greeting)
        if wish is Wish.LEAVE:
            for words in left_words(left):
                talk(words)
            return code
        if wish in {Wish.SIMULATE, Wish.TOUR}:
            show_demo(tour=wish is Wish.TOUR)
            greeting = AFTER_THE_DEMO
        else:
            greeting = ""
        if wish is Wish.AGAIN:
            # a scale was kept: the settings have it now
            args.scale = args.scale_profile = None
        job = left.job.number if left.job is not None else job


def left_words(view: BenchView) -> tuple[str, ...]:
    """Return where a job was left that is not done yet, and how it goes on.

    Parameters
    ----------
    view : BenchView
        The last one.

    Returns
    -------
    tuple[str, ...]
        A line each; none when there is nothing to go on with.
    """
    from bench.use_cases.view import Step

    if view.job is None or view.review is None or view.review.step is Step.DONE:
        return ()
    return (
        f"job {view.job.number} is kept as you left it; next: {view.instruction.headline}",
        f"`spinledger open {view.job.number}` goes on there",
    )


def _once(args: argparse.Namespace, job: str | None, greeting: str) -> tuple[int, Wish, BenchView]:
    """Show the dashboard once; return the exit code, what comes next and the view that was left."""
    from bench.command_line.show_dashboard import show_dashboard
    from bench.command_line.wiring import connect_instruments, start_bench

    places, settings = places_and_settings(args)
    running = start_bench(places, settings)
    try:
        connect_instruments(
            running,
            places,
            scale_url=settings.scale.url,
            folder=Path(settings.balancer.folder) if settings.balancer.folder else None,
            balancer_url=settings.balancer.url,
        )
        view = running.desk.view()
        newest = next((line.number for line in view.jobs if line.step != "done"), None)
        code, wish = show_dashboard(running, places, settings, first_job=job or newest, greeting=greeting)
        return code, wish, running.desk.view()
    finally:
        running.stop()

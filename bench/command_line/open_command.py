"""`spinledger` and `spinledger open JOB`: the dashboard."""

from __future__ import annotations

import argparse
from pathlib import Path

from bench.command_line.options import add_by, add_scale, places_and_settings


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
        jobs = running.desk.view().jobs
        newest = next((job.number for job in jobs if job.step != "done"), None)
        return show_dashboard(running, first_job=args.job or newest)
    finally:
        running.stop()

"""`spinledger trail JOB`: everything that happened, a line an event."""

from __future__ import annotations

import argparse

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json, places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job")
    parser.add_argument("--raw", action="store_true", help="with the instruments' own lines below each event")
    add_json(parser)


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
    from dataclasses import asdict

    from bench.command_line.record_wiring import read_trail
    from bench.command_line.say import document, line
    from bench.use_cases.errors import RefusedError
    from bench.use_cases.timeline import timeline
    from bench.use_cases.view import TrailLine

    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    lines: tuple[TrailLine, ...] = ()
    if trail is not None:
        try:
            lines = timeline(trail, args.job)
        finally:
            trail.close()
    if not lines:
        raise RefusedError(
            f"job {args.job}", found="not in this record", do="`spinledger job list` shows what there is"
        )
    if args.json:
        document([asdict(entry) for entry in lines])
        return ExitCode.FINE
    for entry in lines:
        line(f"{entry.seq:>6}  {entry.when}  {entry.by:<4} {entry.how:<9} {entry.words}")
        if args.raw:
            for raw in entry.raw:
                line(f"        | {raw}")
    return ExitCode.FINE

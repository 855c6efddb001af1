"""`spin --mounted`: which of the parts that belong on the crank are on it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bench.use_cases.scribe import Scribe


def add_mounted_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        That of `spin`.
    """
    parser.add_argument(
        "--mounted",
        metavar="PARTS",
        help="what is on an externally balanced crank for the runs that follow: flywheel,damper; or 'all', or 'none'",
    )
    parser.add_argument("--last-run-too", action="store_true", help="with --mounted: it was so at the last run as well")


def mount_as_told(args: argparse.Namespace, scribe: Scribe) -> None:
    """Record what is mounted, before runs are read, and say it with the cautions.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.
    scribe : Scribe
        Who writes, with the job chosen.
    """
    from bench.command_line.say import line
    from bench.use_cases.cautions import cautions_for
    from bench.use_cases.errors import RefusedError
    from bench.use_cases.mount_parts import mount_parts, mounted_now_words
    from bench.use_cases.view import Doing

    if args.mounted is None:
        if args.last_run_too:
            raise RefusedError("--last-run-too", found="no --mounted", do="say what was mounted")
        return
    state = scribe.state
    every = [part.name for part in state.spec.mounted] if state is not None else []
    told = args.mounted.strip()
    names = every if told == "all" else [] if told == "none" else [name.strip() for name in told.split(",")]
    mount_parts(scribe, names, last_run=args.last_run_too)
    if scribe.state is None:
        return
    line(mounted_now_words(scribe.state))
    for words in cautions_for(Doing.SPIN, scribe.state):
        line(f"before spinning: {words}")

"""`spinledger restore BACKUP`: bring a backup back; what is there now is kept beside it."""

from __future__ import annotations

import argparse
from pathlib import Path

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("backup", type=Path, help="a backup, or a damaged record")
    parser.add_argument(
        "--up-to-fault", action="store_true", help="take over what is whole when the source is damaged further on"
    )


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        1 when something could not be taken over.
    """
    from datetime import UTC, datetime

    from bench.command_line.say import line, talk
    from bench.trail.restore import restore

    places, _ = places_and_settings(args)
    places.record.parent.mkdir(parents=True, exist_ok=True)
    got = restore(args.backup, places.record, now=datetime.now(UTC), up_to_fault=args.up_to_fault)
    line(f"restored: {got.checkpoint.length} events of {got.checkpoint.bench}, head {got.checkpoint.head}")
    if got.set_aside is not None:
        line(f"the record that was there is kept as {got.set_aside}")
    if got.left_out:
        talk(f"not taken over: {got.left_out}")
        return ExitCode.NEGATIVE
    return ExitCode.FINE

"""`spinledger backup [FOLDER...]`: copy the record, read back and verified; the text copy is brought up to it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings

if TYPE_CHECKING:
    from bench.trail.sqlite_store import SqliteTrail


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument(
        "folders",
        nargs="*",
        type=Path,
        metavar="FOLDER",
        help="best two, on media that are taken away; those of the settings when left out",
    )
    parser.add_argument("--thin", action="store_true", help="remove older backups that newer ones stand for")


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        6 when a folder could not be written.
    """
    from datetime import UTC, datetime

    from bench.command_line.record_wiring import read_trail
    from bench.command_line.say import line, talk
    from bench.trail.backup import back_up_to_all, thin
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    if trail is None:
        raise RefusedError("backup", found="there is no record yet", do="`spinledger job new` opens a job")
    folders = args.folders or settings.care.folders
    if not folders and settings.care.text_path is None:
        trail.close()
        raise RefusedError(
            "backup", found="no folder named", do="name one, or `spinledger settings --set care.backup_folder=FOLDER`"
        )
    now = datetime.now(UTC)
    failed = 0
    try:
        for outcome in back_up_to_all(trail, folders, now=now):
            if outcome.made is None:
                failed += 1
                talk(f"no backup in {outcome.folder}: {outcome.fault}")
                continue
            line(f"{outcome.made.path}: {outcome.made.length} events, read back and whole")
            if args.thin:
                for gone in thin(outcome.folder, now=now):
                    line(f"removed {gone.path.name}")
        if settings.care.text_path is not None:
            failed += _extend(trail, settings.care.text_path)
    finally:
        trail.close()
    return ExitCode.STORAGE if failed else ExitCode.FINE


def _extend(trail: SqliteTrail, path: Path) -> int:
    """Bring the text copy up to the record; 1 when it failed."""
    from bench.command_line.say import line, talk
    from bench.trail.errors import CopyError
    from bench.trail.text_copy import extend_text_copy

    try:
        done = extend_text_copy(trail, path)
    except CopyError as fault:
        talk(str(fault))
        return 1
    line(f"{path}: {done.added} events added, {done.checkpoint.length} in all, read back")
    return 0

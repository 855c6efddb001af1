"""`spinledger restore BACKUP`: bring a backup back; what is there now is kept beside it."""

from __future__ import annotations

import argparse
from pathlib import Path

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("backup", type=Path, help="a backup, a damaged record, or a text copy")
    parser.add_argument(
        "--up-to-fault", action="store_true", help="take over what is whole when the source is damaged further on"
    )
    parser.add_argument(
        "--gap",
        action="store_true",
        help="a drive lost entries that the text copy has: say so in the record and go on without them",
    )
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
        1 when something could not be taken over.
    """
    from datetime import UTC, datetime

    from bench.command_line.say import entries, line, talk
    from bench.trail.restore import restore
    from bench.trail.text_copy import rebuild_from_text
    from bench.use_cases.errors import RefusedError

    places, _ = places_and_settings(args)
    try:
        if not args.backup.is_file():
            raise RefusedError(str(args.backup), found="no plain file", wanted="a backup or a text copy")
        with args.backup.open("rb") as file:
            is_text = file.read(1) == b"{"
    except OSError as fault:
        raise RefusedError(str(args.backup), found=fault.strerror or "cannot be read") from fault
    if args.gap:
        return _gap(args)
    places.record.parent.mkdir(parents=True, exist_ok=True)
    now = datetime.now(UTC)
    if is_text:
        got = rebuild_from_text(args.backup, places.record, now=now)
    else:
        got = restore(args.backup, places.record, now=now, up_to_fault=args.up_to_fault)
    end = got.checkpoint
    line(f"restored: {entries(end.length)} of {end.bench}, the last one's hash {end.head}")
    if got.set_aside is not None:
        line(f"the record that was there is kept as {got.set_aside}")
    if got.left_out:
        talk(f"not taken over: {got.left_out}")
        return ExitCode.NEGATIVE
    return ExitCode.FINE


def _gap(args: argparse.Namespace) -> int:
    from datetime import UTC, datetime

    from bench.command_line.care_settings import CareSettings
    from bench.command_line.record_wiring import open_trail
    from bench.command_line.say import line
    from bench.command_line.who import somebody
    from bench.trail.gap import record_gap
    from bench.trail.words import event_in_words

    places, settings = places_and_settings(args)
    settings = somebody(places, settings)
    # the copy is looked at and set aside here: nobody brings it up to the record meanwhile
    trail = open_trail(places, settings.model_copy(update={"care": CareSettings()}))
    try:
        gap = record_gap(trail, args.backup, by=settings.by, now=datetime.now(UTC))
    finally:
        trail.close()
    for event in gap.events:
        where = f"job {event.job}" if event.job else "no job of this record"
        line(f"entry {event.seq}, {where}: {event_in_words(event)}")
    line(f"the {gap.lost} lost entries stay in {gap.set_aside}; {args.backup} goes on with the record")
    return ExitCode.FINE

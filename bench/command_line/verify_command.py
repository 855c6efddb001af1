"""`spinledger verify`: is the record whole, and does it still hold what was seen of it outside."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json, places_and_settings

if TYPE_CHECKING:
    from bench.trail.contract import Checkpoint
    from bench.trail.sqlite_store import SqliteTrail


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument(
        "--full",
        action="store_true",
        help="besides the chain: the file, tables, every event, certificates, attachments, list and search",
    )
    parser.add_argument(
        "--against",
        metavar="WHAT",
        help="what this record must agree with: a certificate, a backup, a text copy, or the scanned line itself",
    )
    parser.add_argument(
        "--record", help="another record than this bench's own: a file, or postgresql://… for all benches"
    )
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
        5 when the record is not whole or does not agree.
    """
    from bench.command_line.outside_checkpoint import outside_faults, seen_outside
    from bench.command_line.record_wiring import read_trail
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    if args.record and args.record.startswith(("postgresql:", "postgres:")):
        from bench.command_line.office_wiring import shared_address, verify_shared

        return verify_shared(args, shared_address(args))
    record = Path(args.record) if args.record else places.record
    seen = seen_outside(args.against) if args.against is not None else None
    trail = read_trail(places, settings, record=record)
    if trail is None:
        raise RefusedError(
            str(record), found="there is no record", do="`spinledger job new` makes one; --record FILE looks at another"
        )
    try:
        end = trail.checkpoint()
        wrong = _walk(trail, end, full=args.full)
        against = outside_faults(trail, seen) if seen is not None else []
    finally:
        trail.close()
    _tell(args, record, end, wrong)
    if seen is not None and not args.json:
        _tell_against(seen.name, seen.checkpoint, against)
    if args.json:
        from bench.command_line.say import document

        document(
            {
                "record": str(record),
                "bench": end.bench,
                "length": end.length,
                "head": end.head,
                "full": args.full,
                "whole": not wrong,
                "faults": wrong,
                "against": None
                if seen is None
                else {"name": seen.name, "length": seen.checkpoint.length, "agrees": not against, "faults": against},
            }
        )
    return ExitCode.NOT_WHOLE if wrong or against else ExitCode.FINE


def _walk(trail: SqliteTrail, end: Checkpoint, *, full: bool) -> list[str]:
    from bench.command_line.progress import ProgressBar

    bar = ProgressBar(end.length)
    try:
        if full:
            from bench.trail.full_check import check_all

            return check_all(trail, progress=bar)
        fault = trail.verify(progress=lambda done: bar("chain", done))
        return [] if fault is None else [f"event {fault.seq}: {fault.found}; wanted {fault.wanted}"]
    finally:
        bar.end()


def _tell(args: argparse.Namespace, record: Path, end: Checkpoint, wrong: list[str]) -> None:
    from bench.command_line.say import entries, line, talk

    if args.json:
        return
    for fault in wrong:
        line(f"not whole: {fault}")
    if wrong:
        talk(
            f"{record}: do not write on; `spinledger restore BACKUP` brings a backup back and keeps this file beside it"
        )
        return
    depth = "whole in every part" if args.full else "whole"
    line(f"{depth}: {entries(end.length)} of {end.bench}, the last one's hash {end.head}")


def _tell_against(name: str, seen: Checkpoint, against: list[str]) -> None:
    from bench.command_line.say import line

    for fault in against:
        line(f"does not agree with {name}: {fault}")
    if not against:
        line(f"agrees with {name}: the {seen.length} events it saw are unchanged")

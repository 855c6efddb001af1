"""`spinledger verify`: is the record whole, and does it still hold what a certificate saw."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings

if TYPE_CHECKING:
    from bench.trail.contract import Checkpoint, Trail

CHECKPOINT = re.compile(r"spinledger-checkpoint:1:(\d{1,12}):([0-9a-f]{64}):([^\"<]{0,40})")
LONGEST_PAGE = 25_000_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--against", type=Path, metavar="CERTIFICATE", help="a certificate this record must agree with")
    parser.add_argument("--record", type=Path, help="another record than this bench's own")


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
    from bench.command_line.places import Places
    from bench.command_line.record_wiring import read_trail
    from bench.command_line.say import line
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    if args.record is not None:
        places = Places(args.record.parent)
    record = args.record or places.record
    trail = read_trail(places, settings, record=record)
    if trail is None:
        raise RefusedError(
            str(record), found="there is no record", do="`spinledger demo` or `spinledger job new` makes one"
        )
    try:
        fault = trail.verify()
        if fault is not None:
            line(f"not whole: event {fault.seq}: {fault.found}; wanted {fault.wanted}")
            return ExitCode.NOT_WHOLE
        end = trail.checkpoint()
        line(f"whole: {end.length} events of {end.bench}, head {end.head}")
        return _compare(trail, args.against) if args.against is not None else ExitCode.FINE
    finally:
        trail.close()


def checkpoint_in(path: Path) -> Checkpoint | None:
    """Return the checkpoint that a certificate carries.

    Parameters
    ----------
    path : Path
        The certificate.

    Returns
    -------
    Checkpoint or None
        None when it carries none.
    """
    from bench.trail.contract import Checkpoint

    with path.open("rb") as file:
        found = CHECKPOINT.search(file.read(LONGEST_PAGE).decode("utf-8", "replace"))
    return Checkpoint(found[3], int(found[1]), found[2]) if found else None


def _compare(trail: Trail, path: Path) -> int:
    from bench.command_line.say import line
    from bench.use_cases.errors import RefusedError

    try:
        seen = checkpoint_in(path)
    except OSError as fault:
        raise RefusedError(str(path), found=fault.strerror or "cannot be read") from fault
    if seen is None:
        raise RefusedError(str(path), found="no checkpoint in it", wanted="a certificate of this program")
    event = next(iter(trail.events(after=seen.length - 1)), None) if seen.length else None
    if event is None or event.hash != seen.head:
        found = "the record ends before it" if event is None else "another event stands there"
        line(f"does not agree: the certificate saw {seen.length} events with head {seen.head[:16]}; {found}")
        return ExitCode.NOT_WHOLE
    line(f"agrees with {path.name}: the {seen.length} events it saw are unchanged")
    return ExitCode.FINE

"""`spinledger trail JOB`: everything that happened, a line an event."""

from __future__ import annotations

import argparse

from bench.command_line.exit_codes import ExitCode
from bench.command_line.office_wiring import add_record, shared_address
from bench.command_line.options import add_json, places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    from bench.use_cases.timeline import SUBJECTS

    parser.add_argument("job")
    parser.add_argument("--raw", action="store_true", help="with the instruments' own lines below each event")
    parser.add_argument(
        "--only", action="append", choices=sorted(SUBJECTS), default=[], help="one subject; may be given again"
    )
    parser.add_argument("--by", dest="who", default="", metavar="INITIALS", help="what this person did")
    parser.add_argument("--how", choices=("auto", "typed", "imported", "simulated"), default="")
    parser.add_argument("--since", default="", metavar="DAY", help="from this day or moment on, UTC: 2031-05-07")
    parser.add_argument("--until", default="", metavar="DAY", help="up to this day or moment, with all of it")
    parser.add_argument("--words", default="", help="with these words in the line, or in the instruments' own lines")
    parser.add_argument("--last", type=int, metavar="N", help="only the newest N of them")
    parser.add_argument("--bench", default="", help="a job of this bench: brought in, fetched, or in the shared record")
    add_record(parser)
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
        1 when nothing of what is asked for happened.
    """
    from dataclasses import asdict

    from bench.command_line.record_wiring import job_events
    from bench.command_line.say import document, line, talk
    from bench.use_cases.errors import RefusedError
    from bench.use_cases.timeline import Asked, lines_of

    if args.last is not None and args.last < 1:
        raise RefusedError("--last", found=str(args.last), wanted="1 or more")
    places, settings = places_and_settings(args)
    asked = Asked(tuple(args.only), args.who, args.how, args.since, args.until, args.words)
    with job_events(places, settings, args.job, bench=args.bench, shared=shared_address(args)) as events:
        lines = lines_of(events, most=args.last, asked=asked)
    if args.json:
        document([asdict(entry) for entry in lines])
        return ExitCode.FINE if lines else ExitCode.NEGATIVE
    for entry in lines:
        line(f"{entry.seq:>6}  {entry.local}  {entry.by:<4} {entry.how:<9} {entry.words}")
        if args.raw:
            for raw in entry.raw:
                line(f"        | {raw}")
    if not lines:
        talk(f"job {args.job}: nothing of that kind happened")
    return ExitCode.FINE if lines else ExitCode.NEGATIVE

"""The verbs of `spinledger job` that move a job from bench to bench: hand-over, take-over."""

from __future__ import annotations

import argparse
from contextlib import closing

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings


def hand_over(args: argparse.Namespace) -> int:
    """Hand a job over to another bench.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line
    from bench.command_line.who import somebody
    from bench.use_cases import hand_over as use_case

    places, settings = places_and_settings(args)
    settings = somebody(places, settings)
    with closing(open_trail(places, settings)) as trail:
        scribe = scribe_for(trail, settings)
        scribe.choose(args.job)
        event = use_case.hand_over(scribe, to_bench=args.to, reason=args.reason)
    line(f"job {args.job}: handed over to bench {args.to} (entry {event.seq}); it can go on there once this is shipped")
    return ExitCode.FINE


def take_over(args: argparse.Namespace) -> int:
    """Go on here with another bench's job.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        3 when another bench has it or the shared record is out of reach.
    """
    from datetime import UTC, datetime

    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line
    from bench.command_line.share_command import share_address
    from bench.command_line.who import somebody
    from bench.sharing.holders import claim_job
    from bench.trail.attachments import append_with_files
    from bench.trail.postgres_opening import connect_shared, shown
    from bench.trail.postgres_reading import SharedReader
    from bench.use_cases import hand_over as use_case
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    settings = somebody(places, settings)
    address = share_address(args.record or None, settings)
    with closing(open_trail(places, settings)) as trail, closing(connect_shared(address)) as connection:
        scribe = scribe_for(trail, settings)
        here = use_case.job_taken_from(scribe, from_bench=args.bench, number=args.job)
        if here:
            raise RefusedError(f"job {args.job} of bench {args.bench}", found=f"it goes on here already, as job {here}")
        events = list(SharedReader(connection, args.bench, shown(address)).events(job=args.job))
        if not events:
            raise RefusedError(f"job {args.job} of bench {args.bench}", found="not in the shared record")
        use_case.refuse_take_over(scribe, events, reason=args.reason)
        handed = claim_job(
            connection, bench=args.bench, job=args.job, holder=trail.bench, by=scribe.by, reason=args.reason,
            gone=args.gone,
        )  # fmt: skip
        # read again: what that bench shipped until the claim belongs to it
        shared = SharedReader(connection, args.bench, shown(address))
        events = list(shared.events(job=args.job))
        wanted = use_case.attached_to(events)
        files = shared.attachments(wanted)
        state = use_case.take_over(
            scribe, events, reason=args.reason, gone=not handed, year=datetime.now(UTC).year, files=files,
            record=lambda drafts: append_with_files(trail, drafts, files),
        )  # fmt: skip
    line(f"job {state.number}: goes on here, taken over from job {args.job} of bench {args.bench}")
    if len(files) < len(wanted):
        left = len(wanted) - len(files)
        line(f"{left} attached files are not in the shared record: they stay with bench {args.bench}")
    return ExitCode.FINE

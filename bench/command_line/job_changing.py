"""The verbs of `spinledger job` that record: reopen, amend, note, attach, import."""

from __future__ import annotations

import argparse
from collections.abc import Generator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings
from bench.command_line.typed_numbers import doubts_asked, say_back

if TYPE_CHECKING:
    from bench.models.job import JobSpec
    from bench.trail.sqlite_store import SqliteTrail
    from bench.use_cases.scribe import Scribe


@contextmanager
def pen(args: argparse.Namespace, *, job: str = "") -> Generator[tuple[SqliteTrail, Scribe]]:
    """Open the record to write into it.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.
    job : str
        Job to open; empty for none.

    Yields
    ------
    tuple[SqliteTrail, Scribe]
        The record, closed afterwards, and who writes.
    """
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.who import somebody

    places, settings = places_and_settings(args)
    settings = somebody(places, settings)
    trail = open_trail(places, settings)
    try:
        scribe = scribe_for(trail, settings)
        if job:
            scribe.choose(job)
        yield trail, scribe
    finally:
        trail.close()


@contextmanager
def _refusing() -> Generator[None]:
    """A file that cannot be taken is refused input, no fault of the record."""
    from bench.trail.errors import CopyError
    from bench.use_cases.errors import RefusedError

    try:
        yield
    except CopyError as fault:
        raise RefusedError(fault.where, found=fault.found, wanted=fault.wanted, do=fault.do) from fault


def reopen(args: argparse.Namespace) -> int:
    """Go on with a job that was signed off, or begin a rebuild of it as a job of its own.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.say import line
    from bench.trail.events import JobReopened
    from bench.use_cases.errors import RefusedError

    if args.as_new:
        return _reopen_as_new(args)
    if not args.reason:
        raise RefusedError(f"job {args.job}", found="no reason given", do="give --reason, or --as-new for a rebuild")
    with pen(args, job=args.job) as (_, scribe):
        if scribe.state is None or scribe.state.signed_off is None:
            raise RefusedError(f"job {args.job}", found="it is not signed off", do="go on with it as it is")
        scribe.record([JobReopened(reason=args.reason[:200])], how="typed")
    line(f"job {args.job}: open again")
    return ExitCode.FINE


def _reopen_as_new(args: argparse.Namespace) -> int:
    from datetime import UTC, datetime

    from bench.command_line.job_looking import print_rebuild
    from bench.command_line.say import line
    from bench.use_cases.rebuild_job import look_at_rebuild, reopen_as_new

    with pen(args) as (trail, scribe):
        state = reopen_as_new(
            scribe,
            args.job,
            year=datetime.now(UTC).year,
            crank_radius_mm=args.crank_radius,
            title=args.title or "",
        )
        rebuild = look_at_rebuild(trail, state)
    line(f"job {state.number}: {state.spec.title}, rebuild of job {args.job}")
    if rebuild is not None:
        print_rebuild(rebuild)
    return ExitCode.FINE


def amend(args: argparse.Namespace) -> int:
    """Put right what intake asked.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.say import line
    from bench.trail.words import event_in_words
    from bench.use_cases.amend_job import amend_job

    names = {"speed": "speed_rpm", "rotor_mass": "rotor_mass_kg", "oil": "oil_g"}
    names |= {name: name for name in ("title", "customer", "engine", "serial", "notes")}
    given = {name: getattr(args, option) for option, name in names.items()}
    changes: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    if args.shop_limit is not None:
        changes["tolerance"] = {"shop_limit_g": args.shop_limit}

    def look(before: JobSpec, after: JobSpec) -> None:
        doubts_asked(after, before=before, as_typed=args.as_typed, what=f"amend job {args.job}")

    with pen(args, job=args.job) as (_, scribe):
        event = amend_job(scribe, changes, reason=args.reason, look=look)
        spec = scribe.state.spec if scribe.state else None
        handed_out = scribe.state.certificates[-1].file_name if scribe.state and scribe.state.certificates else ""
    line(f"entry {event.seq}: {event_in_words(event)}")
    if spec is not None and set(changes) & {"speed_rpm", "rotor_mass_kg", "tolerance"}:
        say_back(spec)
    if handed_out:
        line(f"{handed_out} was handed out before: `spinledger certificate {args.job}` writes one that replaces it")
    return ExitCode.FINE


def note(args: argparse.Namespace) -> int:
    """Write a note into a job.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.say import line
    from bench.use_cases.write_note import write_note

    with pen(args, job=args.job) as (_, scribe):
        event = write_note(scribe, " ".join(args.text))
    line(f"noted (entry {event.seq})")
    return ExitCode.FINE


def attach(args: argparse.Namespace) -> int:
    """Keep files with a job: their bytes as they are, never interpreted.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.say import line
    from bench.trail import attachments
    from bench.trail.events import Draft
    from bench.trail.identifiers import new_id

    # all are read before the first is kept, so that a wrong name among them leaves nothing half done
    with _refusing():
        contents = [(path, attachments.read_to_attach(path)) for path in args.files]
    with pen(args, job=args.job) as (trail, scribe):
        for path, content in contents:
            payload = attachments.about_file(path.name, content, about=args.about)
            draft = Draft(id=new_id(), job=args.job, by=scribe.by, how="imported", payload=payload)
            event = attachments.attach(trail, content, draft)
            line(f"entry {event.seq}: {payload.file_name}, {payload.size} bytes, {payload.sha256[:16]}")
    return ExitCode.FINE


def bring_in(args: argparse.Namespace) -> int:
    """Take in a job of another bench, to look at, with the hashes it was recorded with.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.say import line
    from bench.trail import job_file
    from bench.trail.events import Draft
    from bench.trail.identifiers import new_id

    with _refusing():
        job = job_file.read_job_file(_bytes_of(args), where=str(args.file))
    with _refusing(), pen(args) as (trail, scribe):
        draft = Draft(id=new_id(), by=scribe.by, how="imported", payload=job_file.about_job(job))
        event = job_file.bring_in(trail, job, draft)
    line(
        f"entry {event.seq}: job {job.number} of {job.bench}, {len(job.bodies)} events with the hashes of their own "
        "chain"
    )
    line(f"`spinledger job show {job.number} --bench {job.bench}` shows it")
    return ExitCode.FINE


def _bytes_of(args: argparse.Namespace) -> bytes:
    import stat

    from bench.trail.job_file import LONGEST
    from bench.use_cases.errors import RefusedError

    try:
        if not stat.S_ISREG(args.file.stat().st_mode):
            raise RefusedError(str(args.file), found="a folder, device or pipe", wanted="a plain file")
        with args.file.open("rb") as file:
            data: bytes = file.read(LONGEST + 1)
    except OSError as fault:
        raise RefusedError(str(args.file), found=fault.strerror or "cannot be read") from fault
    return data

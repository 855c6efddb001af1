"""`spinledger job`: new, list, show, find, reopen."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, add_json, places_and_settings

if TYPE_CHECKING:
    from bench.models.job import JobSpec
    from bench.models.job_state import JobLine, JobState

LONGEST_JOB_FILE = 1_000_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="VERB")
    new = verbs.add_parser("new", help="open a job", description="Open a job from a file or from the usual V8.")
    new.add_argument("--from", dest="source", metavar="FILE", help="job as JSON ('-' for stdin); see --example")
    new.add_argument("--example", action="store_true", help="print a job file to start from")
    new.add_argument("--title", help="what the job is called (replaces the file's)")
    new.add_argument("--customer", help="whose engine")
    add_by(new)
    for name, words in (("list", "all jobs, the newest first"), ("show", "one job"), ("find", "jobs with these words")):
        verb = verbs.add_parser(name, help=words)
        if name == "show":
            verb.add_argument("job")
        if name == "find":
            verb.add_argument("words", nargs="+")
        add_json(verb)
    reopen = verbs.add_parser("reopen", help="go on with a job that was signed off")
    reopen.add_argument("job")
    reopen.add_argument("--reason", required=True)
    add_by(reopen)


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
    return {"new": _new, "list": _list, "show": _show, "find": _find, "reopen": _reopen}[args.verb](args)


def _new(args: argparse.Namespace) -> int:
    from bench.command_line.say import line
    from bench.use_cases.demo_job import demo_spec

    if args.example:
        example = demo_spec().model_copy(update={"simulated": False, "serial": ""})
        print(example.model_dump_json(indent=2))
        return ExitCode.FINE
    from datetime import UTC, datetime

    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.use_cases.open_job import open_job

    spec = _read_spec(args)
    places, settings = places_and_settings(args)
    trail = open_trail(places, settings)
    try:
        state = open_job(scribe_for(trail, settings), spec, year=datetime.now(UTC).year)
    finally:
        trail.close()
    line(f"job {state.number}: {state.spec.title}")
    return ExitCode.FINE


def _read_spec(args: argparse.Namespace) -> JobSpec:
    from pydantic import ValidationError

    from bench.models.job import JobSpec
    from bench.use_cases.errors import RefusedError

    if not args.source:
        raise RefusedError(
            "job new",
            found="no file given",
            do="start from `spinledger job new --example > job.json`, then --from job.json",
        )
    try:
        text = sys.stdin.read(LONGEST_JOB_FILE) if args.source == "-" else _read_text(Path(args.source))
        spec = JobSpec.model_validate_json(text)
        changed = {key: value for key in ("title", "customer") if (value := getattr(args, key))}
        return JobSpec.model_validate(spec.model_dump() | changed) if changed else spec
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        raise RefusedError(f"{args.source}: {where}", found=str(first["msg"]), do="correct the file") from fault
    except (OSError, UnicodeDecodeError) as fault:
        raise RefusedError(args.source, found=str(fault), wanted="a job as JSON in UTF-8") from fault


def _read_text(path: Path) -> str:
    with path.open("rb") as file:
        return file.read(LONGEST_JOB_FILE).decode("utf-8")


def _list(args: argparse.Namespace) -> int:
    from bench.command_line.record_wiring import read_trail

    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    if trail is None:
        return _print_jobs([], as_json=args.json)
    try:
        return _print_jobs(trail.jobs(), as_json=args.json)
    finally:
        trail.close()


def _find(args: argparse.Namespace) -> int:
    from bench.command_line.record_wiring import read_trail

    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    if trail is None:
        return _print_jobs([], as_json=args.json)
    try:
        found = trail.find(" ".join(args.words))
    finally:
        trail.close()
    _print_jobs(found, as_json=args.json)
    return ExitCode.FINE if found else ExitCode.NEGATIVE


def _print_jobs(jobs: list[JobLine], *, as_json: bool) -> int:
    from dataclasses import asdict

    from bench.command_line.say import document, table, talk

    rows = [asdict(job) for job in jobs]
    if as_json:
        document(rows)
    elif rows:
        table(
            [{key: str(value) for key, value in row.items()} for row in rows],
            {"number": "job", "step": "step", "title": "title", "customer": "customer", "last_utc": "last"},
        )
    else:
        talk("no job yet: `spinledger demo` shows one, `spinledger job new` opens one")
    return ExitCode.FINE


def _show(args: argparse.Namespace) -> int:
    from bench.command_line.record_wiring import load_job
    from bench.command_line.say import document
    from bench.use_cases.review_job import review_job

    places, settings = places_and_settings(args)
    state = load_job(places, settings, args.job)
    if args.json:
        from dataclasses import asdict

        document({"job": state.number, "spec": state.spec.model_dump(mode="json"), "review": asdict(review_job(state))})
    else:
        _print_job(state)
    return ExitCode.FINE


def _print_job(state: JobState) -> None:
    from bench.command_line.say import line
    from bench.use_cases.review_job import review_job

    review = review_job(state)
    mark = " SIMULATED" if state.spec.simulated else ""
    line(f"job {state.number}: {state.spec.title}, {state.spec.customer}, {state.spec.engine}{mark}")
    line(f"step: {review.step.value}")
    for sheet in review.sets:
        values = "  ".join("---" if g is None else str(g) for g in sheet.grams)
        spread = "" if sheet.spread_g is None else f"  spread {sheet.spread_g:.1f} g"
        line(f"{sheet.label}: {values}{spread}")
    for throw in review.throws:
        if throw.target_g is not None:
            made = "not made" if throw.made_g is None else f"made {throw.made_g} g"
            line(f"bobweight {throw.throw}: {throw.target_g:.1f} g, {made}")
    for plane in review.planes:
        line(plane.words)
    for warning in review.warnings:
        line(f"look: {warning}")


def _reopen(args: argparse.Namespace) -> int:
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line
    from bench.trail.events import JobReopened
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    trail = open_trail(places, settings)
    try:
        scribe = scribe_for(trail, settings)
        state = scribe.choose(args.job)
        if state.signed_off is None:
            raise RefusedError(f"job {args.job}", found="it is not signed off", do="go on with it as it is")
        scribe.record([JobReopened(reason=args.reason[:200])], how="typed")
    finally:
        trail.close()
    line(f"job {args.job}: open again")
    return ExitCode.FINE

"""`spinledger job`: all that is done with a job from a command line."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.job_rotors import add_set
from bench.command_line.job_templating import add_origins, add_template, spec_from_origin
from bench.command_line.office_wiring import add_record
from bench.command_line.options import add_by, add_json, places_and_settings
from bench.command_line.typed_numbers import add_as_typed, doubts_asked, say_back

if TYPE_CHECKING:
    from bench.models.job import JobSpec

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
    add_origins(new)
    add_as_typed(new)
    add_by(new)
    _add_looking(verbs.add_parser)
    add_template(verbs.add_parser)
    _add_changing(verbs.add_parser)
    add_set(verbs.add_parser)


def _add_looking(add: Callable[..., argparse.ArgumentParser]) -> None:
    every = add("list", help="all jobs, the newest first")
    every.add_argument("--brought-in", action="store_true", help="those of other benches")
    show = add("show", help="one job")
    show.add_argument("job")
    show.add_argument("--bench", default="", help="a job that was brought in from this bench")
    find = add("find", help="jobs with these words: number, customer, engine, serial, parts, notes, dates")
    find.add_argument("words", nargs="+")
    find.add_argument("--most", type=int, default=50, metavar="N", help="no more than so many")
    beside = add("compare", help="two jobs side by side: what differs")
    beside.add_argument("job")
    beside.add_argument("other")
    beside.add_argument("--bench", default="", help="the second job was brought in from this bench")
    beside.add_argument("--all", action="store_true", help="what is alike as well")
    files = add("files", help="what is attached to a job; --folder writes it out")
    files.add_argument("job")
    files.add_argument("--folder", type=Path, help="where to; the names are made safe")
    every.add_argument("--others", action="store_true", help="what other benches shipped, as far as it was fetched")
    for verb in (every, show, find):
        add_record(verb)
    for verb in (every, show, find, beside, files):
        add_json(verb)


def _add_changing(add: Callable[..., argparse.ArgumentParser]) -> None:
    reopen = add("reopen", help="go on with a signed job, or begin a rebuild of it as a new one")
    reopen.add_argument("job")
    reopen.add_argument("--reason", default="", help="why it is opened again")
    reopen.add_argument("--as-new", action="store_true", help="a new job for new parts, the old numbers as reference")
    reopen.add_argument(
        "--crank-radius", type=float, metavar="MM", help="half the stroke: says how far out the crank is"
    )
    reopen.add_argument("--title", help="what the new job is called")
    amend = add("amend", help="put right what intake asked; who and why are kept with the old words")
    amend.add_argument("job")
    amend.add_argument("--reason", required=True, help="why")
    add_as_typed(amend)
    for name in ("title", "customer", "engine", "serial", "notes"):
        amend.add_argument(f"--{name}")
    for name, unit in (("speed", "RPM"), ("rotor-mass", "KG"), ("oil", "G"), ("shop-limit", "G")):
        amend.add_argument(f"--{name}", type=float, metavar=unit)
    note = add("note", help="write a note into a job")
    note.add_argument("job")
    note.add_argument("text", nargs="+")
    attach = add("attach", help="keep photos or the machine's own texts with a job, up to 25 MB each")
    attach.add_argument("job")
    attach.add_argument("files", nargs="+", type=Path, metavar="FILE")
    attach.add_argument("--about", default="", help="what they show")
    hand = add("hand-over", help="another bench goes on with the job; nothing more is recorded in it here")
    hand.add_argument("job")
    hand.add_argument("--to", required=True, metavar="BENCH", help="which bench")
    hand.add_argument("--reason", required=True, help="why: weighed here, spun there")
    take = add("take-over", help="go on here with another bench's job, under a number of this bench")
    take.add_argument("job", help="its number there")
    take.add_argument("--bench", required=True, help="whose job it is")
    take.add_argument("--reason", required=True, help="why")
    take.add_argument("--gone", action="store_true", help="that bench did not hand it over and cannot any more")
    add_record(take)
    add_by(hand)
    add_by(take)
    bring = add("import", help="take in another bench's job from `export --as json`, to look at")
    bring.add_argument("file", type=Path)
    for verb in (reopen, amend, note, attach, bring):
        add_by(verb)


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
    from bench.command_line import job_changing, job_handing, job_looking, job_rotors, job_templating

    verbs = {
        "new": _new,
        "list": job_looking.list_jobs,
        "show": job_looking.show_job,
        "find": job_looking.find_jobs,
        "compare": job_looking.compare,
        "files": job_looking.files,
        "template": job_templating.template,
        "reopen": job_changing.reopen,
        "amend": job_changing.amend,
        "note": job_changing.note,
        "attach": job_changing.attach,
        "import": job_changing.bring_in,
        "parts": job_rotors.parts,
        "rotors": job_rotors.rotors,
        "next-rotor": job_rotors.next_rotor,
        "hand-over": job_handing.hand_over,
        "take-over": job_handing.take_over,
    }
    return verbs[args.verb](args)


def _new(args: argparse.Namespace) -> int:
    from bench.command_line.say import line
    from bench.use_cases.demo_job import demo_spec

    if args.example:
        example = demo_spec().model_copy(update={"simulated": False, "serial": ""})
        print(example.model_dump_json(indent=2))
        return ExitCode.FINE
    from datetime import UTC, datetime

    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.who import somebody
    from bench.use_cases.open_job import open_job

    spec = spec_from_origin(args) or _read_spec(args)
    doubts_asked(spec, as_typed=args.as_typed, what=f"job '{spec.title}'")
    places, settings = places_and_settings(args)
    settings = somebody(places, settings)
    trail = open_trail(places, settings)
    try:
        state = open_job(scribe_for(trail, settings), spec, year=datetime.now(UTC).year)
    finally:
        trail.close()
    line(f"job {state.number}: {state.spec.title}")
    say_back(state.spec)
    return ExitCode.FINE


def _read_spec(args: argparse.Namespace) -> JobSpec:
    from pydantic import ValidationError

    from bench.models.job import JobSpec
    from bench.use_cases.errors import RefusedError

    if not args.source:
        raise RefusedError(
            "job new",
            found="no file given",
            do="start from `spinledger job new --example > job.json`, then --from job.json; or --template, or --like",
        )
    try:
        text = sys.stdin.read(LONGEST_JOB_FILE) if args.source == "-" else _read_text(Path(args.source))
        spec = JobSpec.model_validate_json(text)
        changed = {key: value for key in ("title", "customer", "serial") if (value := getattr(args, key))}
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

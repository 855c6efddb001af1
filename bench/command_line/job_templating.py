"""`spinledger job template`, and the new job that begins with a template or like another job."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json, places_and_settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from bench.command_line.template_files import TemplateFiles
    from bench.models.job import JobSpec
    from bench.use_cases.job_templates import JobTemplate

LONGEST_TITLE = 40


def add_template(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the verb.

    Parameters
    ----------
    add : Callable[..., argparse.ArgumentParser]
        Adds a verb to `job`.
    """
    verb = add("template", help="list the shop's templates, keep a job's intake as one, or take one away")
    verb.add_argument("job", nargs="?", help="job whose intake is kept; without it the templates are listed")
    verb.add_argument("name", nargs="?", help="what the template is called")
    verb.add_argument("--replace", action="store_true", help="the one of that name gives way")
    verb.add_argument("--forget", metavar="NAME", help="take this template away")
    add_json(verb)


def add_origins(new: argparse.ArgumentParser) -> None:
    """Add to `job new` what a job can begin with beside a file.

    Parameters
    ----------
    new : argparse.ArgumentParser
        The verb.
    """
    new.add_argument("--template", metavar="NAME", help="begin with this template of the shop")
    new.add_argument(
        "--like", metavar="JOB", help="begin like this job: its layout, parts and limits, none of its weights"
    )
    new.add_argument("--serial", help="serial number of the engine or crank")


def template(args: argparse.Namespace) -> int:
    """List, keep or take away.

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
    from bench.command_line.template_files import TemplateFiles
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    files = TemplateFiles(places.templates)
    if args.forget is not None:
        gone = files.forget(args.forget)
        line(f"template taken away: {gone.name}")
        return ExitCode.FINE
    if args.job is None:
        return _list(files, as_json=args.json)
    if not (args.name or "").strip():
        raise RefusedError(
            "job template", found="no name", wanted="what the template is called, after the job's number"
        )
    from bench.use_cases.job_templates import template_words

    kept = _named(args.name, _spec_of(places, settings, args.job))
    files.keep(kept, replace=args.replace)
    line(f"template kept: {kept.name}: {template_words(kept.spec)}")
    return ExitCode.FINE


def _named(name: str, spec: JobSpec) -> JobTemplate:
    from pydantic import ValidationError

    from bench.use_cases.errors import RefusedError
    from bench.use_cases.job_templates import LONGEST_NAME, template_of

    try:
        return template_of(name, spec)
    except ValidationError as fault:
        raise RefusedError(
            "template's name", found=f"{len(name)} letters, or signs that cannot be read", wanted=f"1 to {LONGEST_NAME}"
        ) from fault


def _list(files: TemplateFiles, *, as_json: bool) -> int:
    from bench.command_line.say import document, line, talk
    from bench.use_cases.job_templates import template_words

    every = files.all()
    for words in files.damaged():
        talk(f"not read: {words}")
    if as_json:
        document({"templates": [one.model_dump(mode="json") for one in every]})
        return ExitCode.FINE
    for one in every:
        line(f"{one.name}: {template_words(one.spec)}")
    if not every:
        talk("no template yet: `spinledger job template JOB NAME` keeps a job's intake as one")
    return ExitCode.FINE


def _spec_of(places: Places, settings: Settings, number: str) -> JobSpec:
    from bench.command_line.record_wiring import load_job
    from bench.models.rotor_set import first_spec

    return first_spec(load_job(places, settings, number))


def spec_from_origin(args: argparse.Namespace) -> JobSpec | None:
    """Return the intake that `job new --template` or `--like` asks for.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    JobSpec | None
        None where neither was given.

    Raises
    ------
    RefusedError
        When several origins are given, the template or the job is not there, or a word does not fit.
    """
    from bench.use_cases.errors import RefusedError

    given = [name for name in ("template", "like", "source") if getattr(args, name)]
    if len(given) > 1:
        raise RefusedError(
            "job new", found="more than one thing to begin with", wanted="one of --from, --template, --like"
        )
    if given in ([], ["source"]):
        return None
    from pydantic import ValidationError

    from bench.command_line.template_files import TemplateFiles
    from bench.use_cases.job_templates import spec_like

    places, settings = places_and_settings(args)
    if args.template:
        found = TemplateFiles(places.templates).named(args.template)
        spec, origin, customer = found.spec, f"from template {found.name}", ""
        spec = spec.model_copy(update={"title": found.name[:LONGEST_TITLE]})
    else:
        spec = _spec_of(places, settings, args.like)
        origin, customer = f"like job {args.like}", spec.customer
    try:
        return spec_like(
            spec,
            origin=origin,
            title=args.title or spec.title,
            customer=args.customer if args.customer is not None else customer,
            serial=args.serial or "",
        )
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise RefusedError(f"job new: {where}", found=str(first["msg"]), do="give it with its option") from fault

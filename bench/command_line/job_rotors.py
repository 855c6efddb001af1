"""`job parts`, `job rotors` and `job next-rotor`: what belongs on the crank, and the rotors of a set."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, add_json, places_and_settings

if TYPE_CHECKING:
    from bench.models.job import Stage
    from bench.models.job_state import JobState
    from bench.use_cases.rotor_lines import RotorLine, SetTotal


def add_set(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add the verbs.

    Parameters
    ----------
    add : Callable[..., argparse.ArgumentParser]
        Adds a verb to `job`.
    """
    parts = add("parts", help="what belongs on an externally balanced crank while it spins, and what it carries")
    parts.add_argument("job")
    parts.add_argument(
        "--part",
        action="append",
        metavar="LINE",
        help="one part, may be given again: 'flywheel; at 540; carries 900 g mm; heavy 90; within 10'",
    )
    parts.add_argument("--none", action="store_true", help="nothing: the crank is balanced internally")
    parts.add_argument("--reason", default="", help="where the figures are from, or why they change")
    rotors = add("rotors", help="every rotor of the job's set as it stands, and what they add up to")
    rotors.add_argument("job")
    rotors.add_argument("--drop", metavar="NAME", help="a rotor that was planned does not come; needs --reason")
    rotors.add_argument("--reason", default="", help="why")
    for verb in (parts, rotors):
        add_json(verb)
    begin = add("next-rotor", help="begin the next rotor of the set; what was balanced before is frozen")
    begin.add_argument("job")
    begin.add_argument("name", nargs="?", help="what the part is called; without it the next one that was planned")
    begin.add_argument("--on", choices=("arbor", "crank"), help="spun alone on an arbor, or on the balanced crank")
    for name, unit, words in (
        ("at", "MM", "its middle along the axis, from the crank's front plane"),
        ("radius", "MM", "where on the part an amount in grams counts"),
        ("limit", "G", "what may be left, at the plane's radius"),
        ("grade", "MM_PER_S", "balance quality grade of ISO 21940-11"),
        ("mass", "KG", "the part's on an arbor, of all that turns on the crank"),
        ("speed", "RPM", "the highest it runs at"),
        ("middle", "DEG", "middle of the arc where its metal may go"),
        ("arc", "DEG", "width of that arc"),
    ):
        begin.add_argument(f"--{name}", type=float, metavar=unit, help=words)
    begin.add_argument("--words", default="", help="why the present rotor is left when it is not inside")
    for verb in (parts, rotors, begin):
        add_by(verb)


def parts(args: argparse.Namespace) -> int:
    """List the parts, or enter them.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.job_changing import pen
    from bench.command_line.record_wiring import load_job
    from bench.command_line.say import line
    from bench.use_cases.mount_parts import enter_parts, mounted_now_words, parts_words
    from bench.use_cases.part_lines import part_from

    if args.part or args.none:
        told = [part_from(text) for text in args.part or ()]
        with pen(args, job=args.job) as (_, scribe):
            event = enter_parts(scribe, told, reason=args.reason)
            state = scribe.state
        line(f"entry {event.seq} by {event.by}: parts on the crank")
    else:
        places, settings = places_and_settings(args)
        state = load_job(places, settings, args.job)
    if state is None:
        return ExitCode.OUR_BUG
    if args.json:
        print(json.dumps([part.model_dump(mode="json") for part in state.spec.mounted], indent=1))
        return ExitCode.FINE
    for words in (*parts_words(state), mounted_now_words(state) or "nothing belongs on this crank while it spins"):
        line(words)
    return ExitCode.FINE


def rotors(args: argparse.Namespace) -> int:
    """Show every rotor of the set.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        0 when every rotor of the set is inside, 1 when not.
    """
    from dataclasses import asdict

    from bench.command_line.record_wiring import load_job
    from bench.command_line.say import line
    from bench.computation.unbalance import PlaneVerdict
    from bench.use_cases.rotor_lines import rotor_lines, set_total

    if args.drop:
        _drop(args)
    places, settings = places_and_settings(args)
    state = load_job(places, settings, args.job)
    lines, total = rotor_lines(state), set_total(state)
    inside = all(one.verdict is PlaneVerdict.INSIDE for one in lines)
    if args.json:
        told = {"rotors": [asdict(one) for one in lines], "total": [asdict(one) for one in total]}
        print(json.dumps(told, indent=1))
        return ExitCode.FINE if inside else ExitCode.NEGATIVE
    if not lines:
        line("this job is one rotor; `spinledger job next-rotor` begins another of a set")
        return ExitCode.FINE
    _print_rotors(lines, total, planes=True)
    return ExitCode.FINE if inside else ExitCode.NEGATIVE


def _drop(args: argparse.Namespace) -> None:
    from bench.command_line.job_changing import pen
    from bench.command_line.say import line
    from bench.use_cases.next_rotor import drop_rotor

    with pen(args, job=args.job) as (_, scribe):
        event = drop_rotor(scribe, args.drop, reason=args.reason)
    line(f"entry {event.seq} by {event.by}: {args.drop} does not come")


def _print_rotors(lines: tuple[RotorLine, ...], total: tuple[SetTotal, ...], *, planes: bool) -> None:
    from bench.command_line.say import line

    for one in lines:
        where = one.where + (", frozen" if one.frozen else "")
        counted = f"{_count(one.runs, 'run')}, {_count(one.cuts, 'cut')}"
        line(f"{one.name} ({where}): " + (f"{one.verdict.value}; {counted}" if one.planes else "to come"))
        for plane in one.planes if planes else ():
            line(f"  {plane.words}")
    for whole in total:
        line(
            f"all together, {whole.plane}: {whole.amount_g:.2f} g at {whole.angle_deg:.1f}° mark to mark, at worst "
            f"{whole.at_worst_g:.2f} g"
        )


def print_set(state: JobState) -> None:
    """Print what belongs on the crank and every rotor of the set, for `job show`; nothing where there is neither.

    Parameters
    ----------
    state : JobState
        The job.
    """
    from bench.command_line.say import line
    from bench.use_cases.mount_parts import mounted_now_words, parts_words
    from bench.use_cases.rotor_lines import rotor_lines, set_total

    for words in (*parts_words(state), mounted_now_words(state)):
        if words:
            line(words)
    _print_rotors(rotor_lines(state), set_total(state), planes=False)


def next_rotor(args: argparse.Namespace) -> int:
    """Begin the next rotor of the set.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.job_changing import pen
    from bench.command_line.say import line
    from bench.trail.words import event_in_words
    from bench.use_cases.cautions import cautions_for
    from bench.use_cases.errors import RefusedError
    from bench.use_cases.next_rotor import begin_rotor
    from bench.use_cases.view import Doing

    with pen(args, job=args.job) as (_, scribe):
        if scribe.state is None:
            raise RefusedError("next rotor", found="no job is open")
        event = begin_rotor(scribe, _rotor(args, scribe.state), words=args.words)
        cautions = cautions_for(Doing.SPIN, scribe.state)
    line(f"entry {event.seq}: {event_in_words(event)}")
    for words in cautions:
        line(f"before spinning: {words}")
    return ExitCode.FINE


def _rotor(args: argparse.Namespace, state: JobState) -> Stage:
    """The planned rotor of that name, with what the arguments tell otherwise; or one of the arguments alone."""
    from pydantic import ValidationError

    from bench.models.job import Stage
    from bench.models.rotor_set import rotors_to_come
    from bench.use_cases.errors import RefusedError
    from bench.use_cases.next_rotor import plane_name

    to_come = rotors_to_come(state)
    planned = next((one for one in to_come if args.name in {None, one.name}), None)
    if planned is None and args.name is None:
        raise RefusedError("next rotor", found="none was planned in this job", do="name it, with --at and --radius")
    told: dict[str, Any] = {"name": args.name, "on": "arbor", "planes": [{"name": ""}]}
    if planned is not None:
        told = planned.model_dump()
    plane = {"position_mm": args.at, "radius_mm": args.radius, "centre_deg": args.middle, "arc_deg": args.arc}
    first: dict[str, Any] = {**told["planes"][0], **{key: value for key, value in plane.items() if value is not None}}
    on = args.on or told["on"]
    first["name"] = plane_name(told["name"], on=on, planned=first["name"])
    band = state.spec.tolerance.model_dump() if planned is None else told["tolerance"]
    limits = {"shop_limit_g": args.limit, "grade_mm_per_s": args.grade}
    given = {"on": on, "rotor_mass_kg": args.mass, "speed_rpm": args.speed}
    told |= {key: value for key, value in given.items() if value is not None}
    told |= {"planes": [first, *told["planes"][1:]]}
    told |= {"tolerance": {**band, **{key: value for key, value in limits.items() if value is not None}}}
    try:
        return Stage.model_validate(told)
    except ValidationError as fault:
        error = fault.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in error["loc"]) or "the rotor"
        raise RefusedError(
            f"next rotor {told['name']}: {where}",
            found=str(error["msg"]).removeprefix("Value error, "),
            do="give --at and --radius in mm",
        ) from None


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"

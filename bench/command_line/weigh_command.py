"""`spinledger weigh JOB`: hands-free weighing in plain lines, one an event, no cursor movement."""

from __future__ import annotations

import argparse
import queue
import sys
import threading
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, add_scale, places_and_settings

if TYPE_CHECKING:
    from bench.command_line.wiring import RunningBench
    from bench.use_cases.commands import Command
    from bench.use_cases.view import BenchView

HELP = """\
While it runs, a line on the keyboard is a wish:  back (take the last one back),  skip,  take / again / clear (answer),
go piston 3,  type piston 3 603.7 REASON,  check 500 (a known weight),  whole 3 (all parts of a cylinder at once),
route kind / cylinder,  temperature 21.5 (at the scale),  by AB (initials),  note TEXT,  quit.
Without a keyboard it ends when every part is weighed.
"""

WISHES = "back, skip, take, again, clear, go, type, check, whole, route, temperature, by, note or quit"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.epilog = HELP
    parser.add_argument("job")
    parser.add_argument(
        "--bobweights", action="store_true", help="go on with the bobweights when all parts are weighed"
    )
    add_scale(parser)
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
        Exit code.
    """
    from bench.command_line.say import line
    from bench.command_line.who import keep_name, somebody
    from bench.command_line.wiring import connect_instruments, start_bench
    from bench.use_cases.commands import ChooseJob, ShowStep
    from bench.use_cases.errors import RefusedError
    from bench.use_cases.view import Step

    places, settings = places_and_settings(args)
    if not settings.scale.url:
        raise RefusedError(
            "scale",
            found="none is set",
            do="give --scale, e.g. --scale /dev/ttyUSB0; `spinledger instruments` lists ports",
        )
    settings = somebody(places, settings)
    running = start_bench(places, settings)
    try:
        if running.desk.view().read_only:
            from bench.trail.errors import RecordBusyError

            raise RecordBusyError(str(places.record), held_by=running.desk.view().read_only)
        running.desk.hear(lambda notice: line(notice.words))
        running.desk.ask(ChooseJob(args.job))
        running.desk.ask(ShowStep(Step.WEIGH))
        connect_instruments(running, places, scale_url=settings.scale.url)
        return _follow(running, args, lambda by: keep_name(places, settings, by))
    finally:
        running.stop()


def _follow(running: RunningBench, args: argparse.Namespace, keep: Callable[[str], str]) -> int:
    from bench.command_line.plain_lines import PlainLines
    from bench.command_line.say import line
    from bench.use_cases.view import Doing, Step

    views: queue.SimpleQueue[BenchView | None] = queue.SimpleQueue()
    running.desk.listen(views.put)
    threading.Thread(target=_read_wishes, args=(running, views, keep), name="keyboard", daemon=True).start()
    plain = PlainLines()
    while True:
        try:
            view = views.get(timeout=1.0)
        except queue.Empty:
            if running.desk.fault is not None:
                raise running.desk.fault from None
            continue
        if view is None:
            return ExitCode.FINE
        if view.job is None:
            if view.notice is not None and view.notice.level == "bad":
                return ExitCode.INPUT_REFUSED
            continue
        step = view.review.step if view.review else Step.WEIGH
        at_work = step is Step.WEIGH or (args.bobweights and step is Step.BOBWEIGHTS)
        if not at_work and view.want.doing not in {Doing.LIFT, Doing.EMPTY}:
            line("all weighed" if step is not Step.WEIGH else "nothing to weigh")
            return ExitCode.FINE
        for words in plain.lines(view, time.monotonic()):
            line(words)


def _read_wishes(running: RunningBench, views: queue.SimpleQueue[BenchView | None], keep: Callable[[str], str]) -> None:
    from bench.command_line.say import talk
    from bench.use_cases.commands import SeeEnd, SetInitials

    doubted: Command | None = None
    for text in sys.stdin:
        words = text.split()
        if not words:
            if running.desk.view().ended is not None:
                running.desk.ask(SeeEnd())
            continue
        if words[0] == "quit":
            views.put(None)
            return
        command = wish(words)
        if command is None:
            talk(f"'{' '.join(words)[:60]}' is no wish; say {WISHES}")
            continue
        doubt = _doubt(running, command)
        if doubt and command != doubted:
            doubted = command
            talk(f"{doubt} Type the same line again when it is meant so; nothing was taken")
            continue
        doubted = None
        running.desk.ask(command)
        if isinstance(command, SetInitials) and (trouble := keep(command.by)):
            talk(trouble)


def _doubt(running: RunningBench, command: Command) -> str:
    """Return why a typed weight looks like a slip; empty for everything else."""
    from bench.use_cases.commands import TypeWeight
    from bench.use_cases.typed_doubts import doubt_of_typed

    state = running.desk.view().job
    if state is None or not isinstance(command, TypeWeight):
        return ""
    return doubt_of_typed(state, command.cell, command.grams)


def wish(words: list[str]) -> Command | None:  # noqa: C901, PLR0911, PLR0912 one wish a line
    """Return the command that words mean.

    Parameters
    ----------
    words : list[str]
        A line, split.

    Returns
    -------
    Command or None
        None when nobody knows what is meant.
    """
    from decimal import Decimal, InvalidOperation

    from pydantic import ValidationError

    from bench.models.job import Cell
    from bench.use_cases.commands import (
        Answer,
        CheckAssembly,
        CheckScale,
        GoTo,
        NoteTemperature,
        SetInitials,
        SetRoute,
        Skip,
        TakeBack,
        TypeWeight,
        WriteNote,
    )
    from bench.use_cases.due import Route

    try:
        match words:
            case ["back"]:
                return TakeBack()
            case ["skip"]:
                return Skip()
            case ["take" | "again" | "clear"]:
                return Answer(words[0])
            case ["go", kind, place]:
                return GoTo(Cell(kind=kind, place=int(place)))
            case ["type", kind, place, grams, *reason]:
                return TypeWeight(Cell(kind=kind, place=int(place)), Decimal(grams), " ".join(reason))
            case ["check", grams]:
                return CheckScale(Decimal(grams))
            case ["check", grams, weight_class]:
                return CheckScale(Decimal(grams), weight_class)
            case ["whole", cylinder]:
                return CheckAssembly(int(cylinder))
            case ["route", route]:
                return SetRoute(Route(route))
            case ["temperature", celsius]:
                return NoteTemperature(float(Decimal(celsius.replace(",", "."))))
            case ["by", initials]:
                return SetInitials(initials)
            case ["note", *text]:
                return WriteNote(" ".join(text))
            case _:
                return None
    except (ValueError, InvalidOperation, ValidationError):
        return None

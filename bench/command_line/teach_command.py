"""`spinledger teach`: learn a scale's lines or a balancing machine's text, by talk or from files."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json, places_and_settings

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.teach_wiring import PortSettings
    from drivers.teach_export import ShownPlane, TaughtExport
    from drivers.teach_states import Taught, TaughtState

HELP = """\
Without --from a person is asked, in plain lines. With --from nobody is:
  teach --from empty.bin --shown "0.0 g" --from part.bin --shown "512.3 g" --from tared.bin --shown "-512.3 g"
  teach --from all.bin --shown "0.0 g" --shown "512.3 g" --shown "-512.3 g"        one recording of all steps, in order
  teach --from run.txt --shown "front 12.34 @ 238.5" --shown "rear 4.10 @ 12.0" --zero 0 --sense clockwise
        --seen-from front --shows excess                                           a balancing machine's text
A file is what `spinledger listen --record FILE` writes, or the plain bytes. What can be read in two ways is not saved.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.epilog = HELP
    parser.add_argument("what", nargs="?", choices=("scale", "export"), help="asked, or told by --shown, when left out")
    parser.add_argument("--port", help="where the scale is: /dev/ttyUSB0, COM3, usb:NUMBER, socket://host:port")
    parser.add_argument("--from", dest="files", action="append", type=Path, default=[], metavar="FILE")
    parser.add_argument("--shown", action="append", default=[], metavar="TEXT", help="what the display shows in it")
    parser.add_argument("--moving", type=Path, action="append", default=[], help="lines of a pan that moves")
    parser.add_argument("--overload", type=Path, help="lines of an overloaded scale")
    parser.add_argument("--name", default="", help="name of the profile")
    parser.add_argument("--dry-run", action="store_true", help="show the profile, save nothing")
    line = parser.add_argument_group("the scale's line")
    line.add_argument("--baud", type=int, help="speed, when it is known; tried out otherwise")
    line.add_argument("--bits", type=int, choices=(7, 8), default=8)
    line.add_argument("--parity", choices=("none", "even", "odd"), default="none")
    line.add_argument("--print-key", action="store_true", help="it sends one line for each press of its key")
    line.add_argument("--ask", default="", metavar="TEXT", help=r"what makes it answer, for instance 'W\r\n'")
    angle = parser.add_argument_group("what the machine's angle means")
    angle.add_argument("--unit", choices=("g", "g mm", "oz in"), default="g", help="unit of its amounts")
    angle.add_argument("--zero", type=float, help="its zero, counter-clockwise from the bench's, seen from the front")
    angle.add_argument("--sense", choices=("counter-clockwise", "clockwise"))
    angle.add_argument("--seen-from", choices=("front", "rear"))
    angle.add_argument("--shows", choices=("excess", "missing"), help="where mass is too much, or where it is missing")
    angle.add_argument("--clock", action="store_true", help="angles are hours of a clock")
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
        4 when nothing could be learnt for certain; 3 when the port cannot be heard.
    """
    from bench.command_line.say import talk
    from bench.command_line.teach_command_talk import LeftError, Talk

    places, _ = places_and_settings(args)
    if args.shown:
        return _from_files(args, places)
    try:
        what = args.what or Talk().choose("What is to be taught?", ("scale", "export"), default="scale")
        if what == "export":
            from bench.command_line.teach_command_export import teach_text_by_talk

            return teach_text_by_talk(places, path=args.files[0] if args.files else None, name=args.name)
        from bench.command_line.teach_command_scale import teach_by_talk

        return teach_by_talk(
            places,
            address=args.port or "",
            name=args.name,
            ask=_unescaped(args.ask),
            print_key=args.print_key,
            setting=_setting(args) if args.baud else None,
        )
    except LeftError:
        talk("left; nothing was saved")
        return ExitCode.INTERRUPTED


def _unescaped(text: str) -> str:
    return text.replace(r"\r", "\r").replace(r"\n", "\n")


def _setting(args: argparse.Namespace) -> PortSettings:
    from bench.command_line.teach_wiring import PortSettings
    from bench.use_cases.errors import RefusedError

    try:
        return PortSettings.model_validate({"baud": args.baud or 9600, "bits": args.bits, "parity": args.parity})
    except ValueError as fault:
        raise RefusedError("--baud", found=str(args.baud), wanted="a speed from 50 to 4000000 bit/s") from fault


def _from_files(args: argparse.Namespace, places: Places) -> int:
    from bench.use_cases.errors import RefusedError

    if not args.files:
        raise RefusedError("--shown", found="no --from", wanted="the file in which the display showed that")
    if args.what == "export" or (args.what is None and any("@" in text for text in args.shown)):
        return _export(args, places)
    return _scale(args, places)


def _heard(path: Path) -> bytes:
    from bench.command_line.instrument_wiring import heard_in_file

    return b"".join(item for item in heard_in_file(path) if isinstance(item, bytes))


def _states(args: argparse.Namespace) -> list[TaughtState]:
    from bench.use_cases.errors import RefusedError
    from drivers.teach_cutting import steps_of_recording
    from drivers.teach_states import TaughtState, Unreadable

    if len(args.files) == 1 and len(args.shown) > 1:
        steps = steps_of_recording(_heard(args.files[0]), args.shown)
        if isinstance(steps, Unreadable):
            raise RefusedError(str(args.files[0]), found=steps.found, wanted=steps.wanted, do=steps.do)
    elif len(args.files) == len(args.shown):
        steps = [TaughtState(_heard(path), shown) for path, shown in zip(args.files, args.shown, strict=True)]
    else:
        found = f"{len(args.files)} files and {len(args.shown)} numbers"
        raise RefusedError("teach", found=found, wanted="one --from for each --shown, or one --from for all of them")
    steps += [TaughtState(_heard(path), role="moving") for path in args.moving]
    if args.overload:
        steps.append(TaughtState(_heard(args.overload), role="overload"))
    return steps


def _scale(args: argparse.Namespace, places: Places) -> int:
    from bench.command_line.teach_wiring import settled_profile, teach_a_scale
    from drivers.teach_states import NeedsMore, Taught

    verdict = teach_a_scale(_states(args), name="taught")
    if isinstance(verdict, Taught):
        port = _setting(args).model_copy(update={"ask": _unescaped(args.ask)})
        return _keep(settled_profile(verdict, port=port, print_key=args.print_key), args, places)
    if isinstance(verdict, NeedsMore):
        return _refuse(args, found="not enough to be certain", wanted=f"more: {verdict.ask}", do="")
    return _refuse(args, found=verdict.found, wanted=verdict.wanted, do=verdict.do)


def _plane(text: str) -> ShownPlane:
    from bench.use_cases.errors import RefusedError
    from drivers.teach_export import ShownPlane

    left, at, angle = text.partition("@")
    words = left.split()
    if not at or len(words) != 2 or not angle.strip():
        raise RefusedError(
            "--shown", found=f"'{text}'", wanted="PLANE AMOUNT @ ANGLE, for instance front 12.34 @ 238.5"
        )
    return ShownPlane(words[0], words[1], angle.strip())


def _export(args: argparse.Namespace, places: Places) -> int:
    from bench.command_line.instrument_wiring import read_text_file
    from bench.command_line.say import talk
    from bench.command_line.teach_command_export import runs_in_words
    from bench.command_line.teach_wiring import teach_an_export
    from bench.use_cases.errors import RefusedError
    from drivers.teach_export import ExportNeedsMore, TaughtExport

    angle = {"zero_deg": args.zero, "sense": args.sense, "seen_from": args.seen_from, "shows": args.shows}
    missing = [f"--{name.removesuffix('_deg').replace('_', '-')}" for name, value in angle.items() if value is None]
    if missing:
        wanted = "what the machine's angle means: no text tells it, and a wrong guess doubles the unbalance"
        raise RefusedError("teach", found=f"no {', no '.join(missing)}", wanted=wanted)
    angle["scale"] = "clock hours" if args.clock else "degrees"
    if len(args.files) != 1:
        raise RefusedError("--from", found=f"{len(args.files)} files", wanted="one text with all the runs")
    data = read_text_file(args.files[0]).data
    verdict = teach_an_export(data, [_plane(text) for text in args.shown], angle=angle, unit=args.unit, name="taught")
    if isinstance(verdict, TaughtExport):
        for words in runs_in_words(verdict, data):
            talk(f"reads {words}")
        return _keep(verdict, args, places)
    if isinstance(verdict, ExportNeedsMore):
        return _refuse(args, found="not enough to be certain", wanted=f"more: {verdict.ask}", do="")
    return _refuse(args, found=verdict.found, wanted=verdict.wanted, do=verdict.do)


def _refuse(args: argparse.Namespace, *, found: str, wanted: str, do: str) -> int:
    from bench.command_line.say import document
    from bench.use_cases.errors import RefusedError

    if args.json:
        document({"taught": False, "found": found, "wanted": wanted, "do": do})
        return ExitCode.INPUT_REFUSED
    raise RefusedError("teach", found=found, wanted=wanted, do=do or "nothing was saved")


def _keep(taught: Taught | TaughtExport, args: argparse.Namespace, places: Places) -> int:
    from bench.command_line.say import document, line
    from bench.command_line.teach_command_keeping import named, profile_text
    from bench.command_line.teach_wiring import write_profile

    taught = named(taught, args.name or "taught")
    path = None if args.dry_run else write_profile(taught, places)
    if args.json:
        saved = str(path) if path else ""
        document({"taught": True, "why": list(taught.why), "profile": profile_text(taught), "file": saved})
        return ExitCode.FINE
    for why in taught.why:
        line(f"because {why}")
    line(f"saved in {path}" if path else profile_text(taught))
    return ExitCode.FINE

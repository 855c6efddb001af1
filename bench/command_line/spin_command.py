"""`spinledger spin JOB [FILE...]`: take runs of the balancing machine from files, a watched folder or a port."""

from __future__ import annotations

import argparse
import queue
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, places_and_settings
from bench.command_line.spin_aside import add_aside_arguments, set_aside_as_told
from bench.command_line.spin_mounted import add_mounted_arguments, mount_as_told

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from bench.use_cases.view import BenchView


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job")
    parser.add_argument("files", nargs="*", type=Path, metavar="FILE")
    parser.add_argument("--folder", help="watch this folder until every plane is inside, instead of files")
    parser.add_argument("--port", help="take what the machine prints to this port, instead of files")
    parser.add_argument(
        "--balancer", "--balancer-profile", dest="balancer_profile", help="profile of the machine's text"
    )
    add_aside_arguments(parser)
    add_mounted_arguments(parser)
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
        0 when the last run is inside in every plane, 1 when not.
    """
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    told = (args.turned, args.known_mass, args.mounted)
    if args.files or args.last_run_too or any(one is not None for one in told):
        return _from_files(args, places, settings)
    if not settings.balancer.folder and not (args.port or settings.balancer.url):
        do = "name the machine's text, or give --folder or --port"
        raise RefusedError("spin", found="no file, no folder and no port given", do=do)
    return _as_they_come(args, places, settings)


def _from_files(args: argparse.Namespace, places: Places, settings: Settings) -> int:
    from bench.command_line.instrument_wiring import export_reader, plugins, read_text_file, recorded_name
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line
    from bench.command_line.who import somebody
    from bench.use_cases.record_run import record_text
    from bench.use_cases.review_job import review_job

    reader = export_reader(settings.balancer, places, allowed=plugins(settings))
    instrument = recorded_name("balancer", settings.balancer, places, plugins(settings))
    settings = somebody(places, settings)
    trail = open_trail(places, settings)
    try:
        scribe = scribe_for(trail, settings)
        scribe.choose(args.job)
        mount_as_told(args, scribe)
        for path in args.files:
            text = read_text_file(path)
            for event in record_text(scribe, reader.read(text.data), text, instrument=instrument):
                line(f"run taken from {path.name} (entry {event.seq})")
        set_aside_as_told(args, scribe, places, settings, instrument=instrument)
        state = scribe.state
    finally:
        trail.close()
    if state is None:
        return ExitCode.OUR_BUG
    review = review_job(state)
    for plane in review.planes:
        line(plane.words)
    _print_next(state, review)
    return ExitCode.FINE if review.whole_verdict is _inside() else ExitCode.NEGATIVE


def _inside() -> object:
    from bench.computation.unbalance import PlaneVerdict

    return PlaneVerdict.INSIDE


def _print_next(state: object, review: object) -> None:
    from bench.command_line.say import line
    from bench.models.job_state import JobState
    from bench.use_cases.cautions import BEFORE_DRILLING
    from bench.use_cases.propose_cuts import propose_cuts
    from bench.use_cases.view import Review

    if not isinstance(state, JobState) or not isinstance(review, Review):
        return
    proposal = propose_cuts(state, review)
    if proposal is None:
        return
    line(proposal.why)
    for cut in proposal.cuts:
        hole = f", drill {cut.diameter_mm:g} mm" if cut.diameter_mm is not None else ""
        hole += f" from {cut.from_depth_mm:.1f}" if cut.depth_mm is not None and cut.from_depth_mm > 0.0 else ""
        hole += f" to {cut.depth_mm:.1f} mm deep" if cut.depth_mm is not None else ""
        line(f"next cut: {cut.station or cut.plane}, {cut.grams:.1f} g at {cut.angle_deg:.1f}°{hole}")
    for words in (*proposal.expected, *proposal.answer):
        line(words)
    if proposal.cuts:
        for words in BEFORE_DRILLING:
            line(f"before drilling: {words}")


def _as_they_come(args: argparse.Namespace, places: Places, settings: Settings) -> int:
    from bench.command_line.say import line
    from bench.command_line.wiring import connect_instruments, start_bench
    from bench.use_cases.commands import ChooseJob, ShowStep
    from bench.use_cases.view import Step

    running = start_bench(places, settings)
    try:
        running.desk.hear(lambda notice: line(notice.words))
        running.desk.ask(ChooseJob(args.job))
        running.desk.ask(ShowStep(Step.SPIN))
        connect_instruments(
            running,
            places,
            folder=Path(settings.balancer.folder) if settings.balancer.folder else None,
            balancer_url=args.port or settings.balancer.url,
        )
        views: queue.SimpleQueue[BenchView] = queue.SimpleQueue()
        running.desk.listen(views.put)
        while True:
            try:
                view = views.get(timeout=1.0)
            except queue.Empty:
                if running.desk.fault is not None:
                    raise running.desk.fault from None
                continue
            if view.job is None and view.notice is not None and view.notice.level == "bad":
                return ExitCode.INPUT_REFUSED
            if view.review is not None and view.review.whole_verdict is _inside():
                return ExitCode.FINE
    finally:
        running.stop()

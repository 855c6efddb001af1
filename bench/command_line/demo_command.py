"""`spinledger demo`: the main job on the simulated bench, over real links, in a record of its own."""

from __future__ import annotations

import argparse
import json
import os
import queue
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bench.command_line.exit_codes import ExitCode
from bench.command_line.places import Places

if TYPE_CHECKING:
    from bench.command_line.simulated_shop import SimulatedShop
    from bench.command_line.wiring import RunningBench
    from bench.use_cases.view import BenchView, Notice

    Happened = queue.SimpleQueue[BenchView | dict[str, Any]]

PACE_BY_HAND = 1.0
PACE_HANDS_OFF = 20.0
PACE_LEAST, PACE_MOST = 0.1, 200.0
LONGEST_S = 1800.0
QUIET_S = 120.0
START_TRIES = 10
USUAL_SEED = 1
MOST_RUNS = 30


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--hands-off", action="store_true", help="play the whole job without a person, in plain lines")
    parser.add_argument("--resume", action="store_true", help="go on with the last demo job where it stands")
    parser.add_argument(
        "--seed", type=int, help=f"which parts and which crank (default {USUAL_SEED}; with --resume those of the job)"
    )
    parser.add_argument(
        "--pace", type=float, help="simulated seconds in a second (hands-off 20, by hand 1; or SPINLEDGER_PACE)"
    )
    parser.add_argument(
        "--link", choices=("tcp", "pty"), default="tcp", help="what the simulated scale is plugged into"
    )
    parser.add_argument("--tour", action="store_true", help="begin with the two-minute tour")
    parser.add_argument("--mishaps", type=float, default=0.0, help="share of layings that go wrong (0 to 1)")


def run(args: argparse.Namespace) -> int:
    """Run the demo.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.places import find_places
    from bench.command_line.say import line
    from bench.command_line.show_dashboard import has_terminal

    if not args.hands_off and not has_terminal():
        return ExitCode.USAGE
    places = find_places().demo
    pace = args.pace or _usual_pace(hands_off=args.hands_off)
    if args.hands_off:
        line("SIMULATED: no real instrument is connected, every part is invented")
    running, number = _open(places, args, pace=pace, print_lines=args.hands_off)
    try:
        happened: Happened = queue.SimpleQueue()
        shop = _start_shop(places, args, number, pace=pace, on_did=happened.put)
        try:
            _connect(running, places, shop, number, pace=pace)
            if args.hands_off:
                return _play(running, shop, happened)
            code = _show(running, shop, places, tour=args.tour)
            for words in kept_words(places):
                line(words)
            return code
        finally:
            running.disconnect()
            shop.close()
    finally:
        running.stop()


def kept_words(places: Places) -> tuple[str, ...]:
    """Return how the demo's record is reached again.

    Parameters
    ----------
    places : Places
        The demo's own.

    Returns
    -------
    tuple[str, ...]
        A line each.
    """
    return (
        f"demo: its jobs are kept in {places.home}, apart from yours",
        "demo: `spinledger demo --resume` goes on with the last one; in the demo, j lists them all",
        "demo: any other command reads them when the variable SPINLEDGER_HOME names their folder:",
        str(places.home),
    )


def _usual_pace(*, hands_off: bool) -> float:
    """Return how fast the simulated bench runs where no option says it."""
    from bench.use_cases.errors import RefusedError

    told = os.environ.get("SPINLEDGER_PACE", "")
    if not told:
        return PACE_HANDS_OFF if hands_off else PACE_BY_HAND
    try:
        pace = float(told)
    except ValueError:
        pace = 0.0
    if not PACE_LEAST <= pace <= PACE_MOST:
        raise RefusedError(
            "environment SPINLEDGER_PACE", found=f"'{told}'", wanted=f"a number from {PACE_LEAST:g} to {PACE_MOST:g}"
        )
    return pace


def _open(places: Places, args: argparse.Namespace, *, pace: float, print_lines: bool) -> tuple[RunningBench, str]:
    from bench.command_line.say import line
    from bench.command_line.settings import Settings
    from bench.command_line.wiring import start_bench
    from bench.use_cases.commands import ChooseJob, CreateJob, SetInitials
    from bench.use_cases.demo_job import demo_spec

    settings = Settings.model_validate({"by": "DEMO", "bench": "demo bench"})
    running = start_bench(places, settings, pace=pace, simulated=True)
    try:
        if print_lines:
            running.desk.hear(lambda notice: line(_line_of(notice)))
        running.desk.ask(SetInitials("DEMO"))
        open_jobs = [job for job in running.desk.view().jobs if job.step != "done"]
        resumed = args.resume and bool(open_jobs)
        running.desk.ask(ChooseJob(open_jobs[0].number) if resumed else CreateJob(demo_spec()))
        return running, _number_of_job(running)
    except BaseException:
        running.stop()
        raise


def _number_of_job(running: RunningBench) -> str:
    from bench.use_cases.errors import RefusedError

    until = time.monotonic() + 30.0
    while time.monotonic() < until:
        view = running.desk.view()
        if view.job is not None:
            return view.job.number
        if running.desk.fault is not None:
            raise running.desk.fault
        time.sleep(0.01)
    raise RefusedError("demo", found="the job could not be opened")


def _line_of(notice: Notice) -> str:
    return notice.words


def _start_shop(
    places: Places,
    args: argparse.Namespace,
    number: str,
    *,
    pace: float,
    on_did: Callable[[dict[str, Any]], None],
) -> SimulatedShop:
    from bench.command_line.simulated_shop import SimulatedShop
    from bench.use_cases.errors import RefusedError

    folder = _folder(places, number)
    folder.mkdir(parents=True, exist_ok=True)
    seed = kept_seed(folder / "shop.json") if args.seed is None else args.seed
    for tries_left in reversed(range(START_TRIES)):
        try:
            return SimulatedShop(
                folder=folder / "runs",
                state=folder / "shop.json",
                truth=folder / "truth.json",
                seed=seed,
                pace=pace,
                listen="pty" if args.link == "pty" else "tcp:127.0.0.1:0",
                mishaps=args.mishaps,
                on_did=on_did,
            )
        except RefusedError:
            # the shop of a demo that was killed needs a moment to close
            if not tries_left:
                raise
            time.sleep(0.5)
    raise AssertionError("unreachable")


def kept_seed(state: Path) -> int:
    """Return which crank a demo job goes on with.

    Parameters
    ----------
    state : Path
        What the simulated shop keeps.

    Returns
    -------
    int
        Its seed; the usual one where nothing is kept. What is wrong with the file the shop itself tells.
    """
    try:
        return int(json.loads(state.read_text(encoding="utf-8"))["seed"])
    except (OSError, ValueError, KeyError, TypeError):
        return USUAL_SEED


def _folder(places: Places, number: str) -> Path:
    return places.home / f"shop-{number}"


def _connect(running: RunningBench, places: Places, shop: SimulatedShop, number: str, *, pace: float) -> None:
    from bench.command_line.wiring import connect_instruments

    connect_instruments(
        running,
        places,
        scale_url=shop.scale_url,
        folder=_folder(places, number) / "runs",
        stable_for_s=max(0.1, 1.0 / pace),
    )


def _play(running: RunningBench, shop: SimulatedShop, happened: Happened) -> int:  # noqa: C901 one loop, told in order
    """Follow the views until the certificate is written."""
    from bench.command_line.demo_player import DemoPlayer
    from bench.command_line.say import line, talk
    from bench.computation.unbalance import PlaneVerdict

    running.desk.listen(happened.put)
    player = DemoPlayer(hands_off=True)
    started = moved = time.monotonic()
    last_number = 0
    while time.monotonic() - started < LONGEST_S:
        if running.desk.fault is not None:
            raise running.desk.fault
        try:
            event = happened.get(timeout=1.0)
        except queue.Empty:
            if time.monotonic() - moved > QUIET_S:
                wish = running.desk.view().instruction.headline
                talk(f"demo: nothing has happened for {QUIET_S:.0f} s; the last wish was '{wish}'")
                return ExitCode.NEGATIVE
            continue
        if isinstance(event, dict):
            moves = player.did(event)
        else:
            if event.notice is not None and event.notice.number != last_number:
                last_number, moved = event.notice.number, time.monotonic()
            moves = player.moves(event)
        for told in moves.tell:
            shop.tell(told)
        for command in moves.ask:
            running.desk.ask(command)
        view = running.desk.view() if isinstance(event, dict) else event
        if moves.finished:
            line(f"certificate: {view.certificate_path}")
            good = view.review is not None and view.review.whole_verdict is PlaneVerdict.INSIDE
            return ExitCode.FINE if good else ExitCode.NEGATIVE
        if view.job is not None and len(view.job.spins) > MOST_RUNS:
            talk(f"demo: still not inside after {MOST_RUNS} runs; {view.proposal.why if view.proposal else ''}")
            return ExitCode.NEGATIVE
    talk(f"demo: not finished after {LONGEST_S:.0f} s")
    return ExitCode.NEGATIVE


def _show(running: RunningBench, shop: SimulatedShop, places: Places, *, tour: bool) -> int:
    """Open the dashboard; the operator follows what it shows."""
    from bench.command_line.demo_player import DemoPlayer
    from bench.command_line.settings import read_settings
    from bench.command_line.show_dashboard import show_dashboard

    player = DemoPlayer(hands_off=False)

    def follow(view: BenchView) -> None:
        for told in player.moves(view).tell:
            shop.tell(told)

    running.desk.listen(follow)
    # the looks are those of the shop; instruments and initials are the simulated bench's own
    real = Places(places.home.parent)
    settings, _ = read_settings(real.settings)
    return show_dashboard(running, real, settings, tour=tour)[0]


def show_demo(*, tour: bool) -> int:
    """Show the simulated bench from inside the dashboard.

    Parameters
    ----------
    tour : bool
        Begin with the tour.

    Returns
    -------
    int
        Exit code.
    """
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    return run(parser.parse_args(["--tour"] if tour else []))

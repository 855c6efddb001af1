"""Command line of the simulated bench: ``python -m sim scale``, ``balancer`` and ``shop``."""

from __future__ import annotations

import argparse
import signal
import sys
from pathlib import Path

import numpy as np

from sim.clock import PacedClock
from sim.conditions import CONDITIONS, condition_named
from sim.live import LiveLoop, say
from sim.lock import StateInUseError, locked
from sim.lone_instruments import LoneScale, run_balancer
from sim.ports import PortError, open_port
from sim.scale import Scale
from sim.shop import Shop
from sim.shop_state import ShopState, ShopStateError, load_state
from sim.wire_faults import WireFaults
from sim.worlds import WORLD_NAMES, World, build_world

_USAGE, _AGAIN, _REFUSED = 2, 3, 4


def _seed(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"{text!r}: wanted a whole number from 0")
    return int(text)


def _share(text: str) -> float:
    try:
        share = float(text)
    except ValueError:
        share = -1.0
    if not 0.0 <= share <= 1.0:
        raise argparse.ArgumentTypeError(f"{text!r}: wanted a share from 0 to 1")
    return share


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m sim", description="The simulated bench.")
    commands = parser.add_subparsers(dest="command", required=True)
    scale = commands.add_parser("scale", help="a scale that plays a few parts, or follows JSON lines on stdin")
    balancer = commands.add_parser("balancer", help="a balancing machine that leaves texts in a folder")
    shop = commands.add_parser("shop", help="scale, operator, crank and balancing machine together")
    for command in (scale, shop):
        command.add_argument("--listen", default="tcp:127.0.0.1:0", help="tcp:127.0.0.1:PORT (0: any free) or pty")
        command.add_argument("--pace", type=float, default=1.0, help="simulated seconds in a second")
        command.add_argument("--condition", default="demo", choices=list(CONDITIONS), help="surroundings of the scale")
        command.add_argument("--garbled", type=_share, default=0.0, help="share of damaged lines")
        command.add_argument("--doubled", type=_share, default=0.0, help="share of doubled lines")
    for command in (balancer, shop):
        command.add_argument("--folder", type=Path, required=True, help="where the machine leaves its texts")
        command.add_argument("--world", default="v8", choices=WORLD_NAMES, help="which engine")
    for command in (scale, balancer, shop):
        command.add_argument("--seed", type=_seed, default=1, help="what everything is drawn from")
    scale.add_argument("--quiet", action="store_true", help="play no parts of its own")
    shop.add_argument("--truth", type=Path, help="file for what is true, written at the end")
    shop.add_argument("--state", type=Path, help="file that lets another start go on here")
    shop.add_argument("--mishaps", type=_share, default=0.0, help="share of layings that go wrong")
    return parser


def _run_scale(options: argparse.Namespace) -> int:
    rng = np.random.default_rng((options.seed, 404))
    for_scale, for_faults, for_hands = rng.spawn(3)
    port = open_port(options.listen)
    scale = Scale(condition_named(options.condition), for_scale)
    bench = LoneScale(scale, for_hands, plays=not options.quiet, say=say)
    say({"ready": {"url": port.url}})
    faults = WireFaults(for_faults, options.garbled, options.doubled)
    try:
        LiveLoop(scale, bench, port, faults, PacedClock(options.pace)).run(sys.stdin)
    finally:
        port.close()
    return 0


def _run_shop(options: argparse.Namespace) -> int:
    world = build_world(options.world, options.seed)
    for path in (options.state, options.truth):
        if path is not None:
            path.parent.mkdir(parents=True, exist_ok=True)
    if options.state is None:
        return _keep_shop(options, world, ShopState(world.name, world.seed))
    with locked(options.state):
        return _keep_shop(options, world, load_state(options.state, world=world.name, seed=world.seed))


def _keep_shop(options: argparse.Namespace, world: World, state: ShopState) -> int:
    options.folder.mkdir(parents=True, exist_ok=True)
    port = open_port(options.listen)
    shop = Shop(
        world,
        state,
        condition=condition_named(options.condition),
        folder=options.folder,
        state_path=options.state,
        mishap_rate=options.mishaps,
        say=say,
    )
    say({"ready": {"scale": port.url, "folder": str(options.folder)}})
    faults = WireFaults(np.random.default_rng((options.seed, 505)), options.garbled, options.doubled)
    try:
        LiveLoop(shop.scale, shop, port, faults, PacedClock(options.pace)).run(sys.stdin)
    finally:
        port.close()
        if options.truth is not None:
            shop.write_truth(options.truth)
    return 0


def main(arguments: list[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : list[str] | None
        Words after ``python -m sim``; None takes those of the process.

    Returns
    -------
    int
        Exit code: 0 fine, 2 usage, 3 port absent or busy, 4 input refused.
    """
    options = _parser().parse_args(arguments)
    try:
        if options.command == "balancer":
            return run_balancer(options.folder, build_world(options.world, options.seed), sys.stdin)
        return _run_scale(options) if options.command == "scale" else _run_shop(options)
    except (PortError, StateInUseError) as fault:
        print(fault, file=sys.stderr)
        return _AGAIN
    except ShopStateError as fault:
        print(fault, file=sys.stderr)
        return _REFUSED
    except ValueError as fault:
        print(fault, file=sys.stderr)
        return _USAGE
    except KeyboardInterrupt:
        return 130


def _end_by_signal(_number: int, _frame: object) -> None:
    raise SystemExit(143)


if __name__ == "__main__":
    signal.signal(signal.SIGTERM, _end_by_signal)
    sys.exit(main())

"""`spinledger listen URL`: live readings of a scale, a line each."""

from __future__ import annotations

import argparse
import queue
import time

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_scale, places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("url", nargs="?", help="device or URL; the settings' scale when left out")
    parser.add_argument("--lines", type=int, default=0, help="end after so many lines (0: never)")
    parser.add_argument("--raw", action="store_true", help="show the bytes too")
    add_scale(parser)


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        3 when nothing could be heard within ten seconds.
    """
    from bench.command_line.queue_sink import QueueSink
    from bench.command_line.say import line, talk
    from bench.command_line.wiring import bare_scale_link, scale_driver
    from bench.use_cases.errors import RefusedError
    from drivers.contract import LineFault, LinkChange, LinkState

    args.scale = args.url or args.scale
    places, settings = places_and_settings(args)
    if not settings.scale.url:
        raise RefusedError("scale", found="none is set", do="name its port, e.g. `spinledger listen /dev/ttyUSB0`")
    driver = scale_driver(settings.scale, places)
    sink = QueueSink()
    link = bare_scale_link(settings.scale, places, sink)
    link.start()
    heard, started = 0, time.monotonic()
    try:
        while True:
            try:
                item, at_ns = sink.items.get(timeout=0.5)
            except queue.Empty:
                if not heard and time.monotonic() - started > 10.0:
                    talk(f"{settings.scale.url}: nothing heard for 10 s")
                    return ExitCode.TRY_AGAIN
                continue
            if isinstance(item, LinkChange):
                talk(f"{item.state.value} {item.detail} {item.remedy}".strip())
                if item.state is not LinkState.OPEN:
                    driver.link_lost()
                continue
            for reading in driver.feed(item, at_ns):
                heard += 1
                bytes_shown = f"   {reading.raw!r}" if args.raw else ""
                if isinstance(reading, LineFault):
                    line(f"not read: {reading.found}; wanted {reading.wanted}{bytes_shown}")
                else:
                    shown = reading.condition.value if reading.value is None else f"{reading.value} {reading.unit}"
                    steady = "" if reading.steady is None else " steady" if reading.steady else " moving"
                    line(f"{shown}{steady}{bytes_shown}")
                if args.lines and heard >= args.lines:
                    return ExitCode.FINE
    finally:
        link.stop()

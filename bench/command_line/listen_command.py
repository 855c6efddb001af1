"""`spinledger listen NAME|URL`: live readings of a scale, a line each; and a recording of all that comes."""

from __future__ import annotations

import argparse
import queue
import time
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_scale, places_and_settings

if TYPE_CHECKING:
    from bench.command_line.queue_sink import QueueSink
    from drivers.contract import LineFault, LinkChange, Reading
    from drivers.listening import ScaleListening

_PATIENCE_S = 10.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("url", nargs="?", help="address, or the scale's name; the settings' scale when left out")
    parser.add_argument("--lines", type=int, default=0, help="end after so many lines (0: never)")
    parser.add_argument("--raw", action="store_true", help="show the bytes too")
    parser.add_argument("--record", type=Path, metavar="FILE", help="write down all that comes, with its times")
    add_scale(parser)


class _Lines:
    """Prints what a scale says."""

    def __init__(self, *, raw: bool, wanted: int) -> None:
        self.heard = 0
        self._wanted = wanted
        self.asked_unit = ""
        self._raw = raw

    @property
    def enough(self) -> bool:
        return bool(self._wanted) and self.heard >= self._wanted

    def reading_came(self, reading: Reading) -> None:
        from bench.command_line.say import line

        if self.enough:
            return
        self.heard += 1
        shown = reading.condition.value if reading.value is None else f"{reading.value} {reading.unit}"
        steady = "" if reading.steady is None else " steady" if reading.steady else " moving"
        line(f"{shown}{steady}{' net' if reading.net else ''}{f'   {reading.raw!r}' if self._raw else ''}")

    def fault_came(self, fault: LineFault) -> None:
        from bench.command_line.say import line

        line(f"not read: {fault.found}; wanted {fault.wanted}{f'   {fault.raw!r}' if self._raw else ''}")

    def unit_changed(self, *, old: str, new: str) -> None:
        from bench.command_line.say import talk

        self.asked_unit = new
        talk(f"the scale now shows {new}, before it was {old}: at the bench nothing is taken until somebody agrees")

    def link_changed(self, change: LinkChange) -> None:
        from bench.command_line.say import talk

        talk(f"{change.state.value} {change.detail} {change.remedy}".strip())


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        3 when nothing could be read within ten seconds.
    """
    from bench.command_line.instrument_wiring import link_of_scale, plugins, recording_to, scale_driver
    from bench.command_line.queue_sink import QueueSink
    from bench.command_line.say import talk
    from bench.use_cases.errors import RefusedError
    from drivers.listening import ScaleListening

    _, settings = places_and_settings(args)
    if args.url and args.url != settings.scale.name:
        args.scale = args.url
    places, settings = places_and_settings(args)
    if not settings.scale.url:
        raise RefusedError("scale", found="none is set", do="name its port, e.g. `spinledger listen /dev/ttyUSB0`")
    lines = _Lines(raw=args.raw, wanted=args.lines)
    listening = ScaleListening(scale_driver(settings.scale, places, allowed=plugins(settings)), lines)
    sink = QueueSink()
    recording = recording_to(args.record, sink) if args.record else None
    link = link_of_scale(settings.scale, places, recording or sink)
    link.start()
    try:
        return _print(sink, listening, lines, settings.scale.url)
    finally:
        link.stop()
        if recording is not None:
            recording.close()
            talk(f"recorded in {args.record}")


def _print(sink: QueueSink, listening: ScaleListening, lines: _Lines, url: str) -> int:
    from bench.command_line.say import talk
    from drivers.contract import LinkState

    started = time.monotonic()
    while True:
        if not lines.heard and time.monotonic() - started > _PATIENCE_S:
            unread = f"{listening.faults} lines came that this profile does not read; `spinledger teach` learns them"
            talk(f"{url}: " + (unread if listening.faults else f"nothing heard for {_PATIENCE_S:g} s"))
            return ExitCode.TRY_AGAIN
        try:
            item, at_ns = sink.items.get(timeout=0.5)
        except queue.Empty:
            continue
        if isinstance(item, bytes):
            listening.bytes_came(item, at_ns)
        else:
            listening.link_changed(item)
            if item.state is LinkState.CLOSED:
                return ExitCode.FINE if lines.heard else ExitCode.TRY_AGAIN
        if lines.asked_unit:
            listening.accept_unit(lines.asked_unit)
            lines.asked_unit = ""
        if lines.enough:
            return ExitCode.FINE

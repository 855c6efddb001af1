"""`spinledger doctor`: record, disk, backups, clock, terminal, sound, instruments and drivers, one line each."""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json

if TYPE_CHECKING:
    from bench.command_line.doctor_finding import Finding
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--no-ports", action="store_true", help="open no port, not even for a moment")
    parser.add_argument(
        "--reset-terminal",
        action="store_true",
        help="put the terminal right after a program was killed, and nothing else",
    )
    parser.add_argument("--keys", action="store_true", help="show what pressed keys and pedals send; q ends")
    parser.add_argument("--sound", action="store_true", help="play the three tones and say what each means")
    parser.add_argument(
        "--report", type=Path, metavar="FILE", help="show what may be sent to who keeps the program, then write it"
    )
    parser.add_argument("--as-shown", action="store_true", help="with --report: it was seen before and may be written")
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
        1 when there is a fault.
    """
    from bench.command_line.say import document, line

    if args.reset_terminal:
        return reset_terminal()
    if args.keys:
        from bench.command_line.keys_seen import show_keys

        return show_keys()
    if args.sound:
        return _play_sounds()
    findings = examine(ports=not args.no_ports)
    if args.report is not None:
        from bench.command_line.doctor_report import write_report
        from bench.command_line.places import find_places

        return write_report(args.report, findings, find_places(), as_shown=args.as_shown)
    counted = Counter(one.how.value for one in findings)
    faults = counted["fault"]
    if args.json:
        document({"fine": not faults, "findings": [asdict(one) for one in findings]})
        return ExitCode.NEGATIVE if faults else ExitCode.FINE
    for one in findings:
        line(f"{one.how.value:<6} {one.area:<12} {one.words}")
        if one.remedy:
            line(f"{'':19} -> {one.remedy}")
    line(f"{counted['fine']} fine, {counted['look']} to look at, {faults} faults")
    return ExitCode.NEGATIVE if faults else ExitCode.FINE


def _play_sounds() -> int:
    from bench.command_line.doctor_sound import play_all
    from bench.command_line.say import line

    if play_all():
        return ExitCode.FINE
    line("no program of this computer plays them; see `spinledger doctor`")
    return ExitCode.NEGATIVE


def examine(*, ports: bool = True) -> list[Finding]:
    """Look at everything; what cannot be looked at becomes a finding.

    Parameters
    ----------
    ports : bool
        Open the ports that the settings name for a moment.

    Returns
    -------
    list[Finding]
        In a fixed order.
    """
    from bench.command_line import doctor_computer as computer
    from bench.command_line import doctor_record as record
    from bench.command_line.doctor_finding import fault, fine
    from bench.command_line.doctor_sound import check_sound
    from bench.command_line.places import find_places
    from bench.command_line.settings import Settings, read_settings
    from bench.use_cases.errors import RefusedError

    places = find_places()
    now = datetime.now(UTC)
    try:
        settings, _ = read_settings(places.settings)
        findings = [fine("settings", "program", f"settings: {places.settings}")]
    except RefusedError as told:
        settings = Settings()
        findings = [fault("settings-wrong", "program", str(told), "correct the file; looked on with the defaults")]
    findings += computer.check_environment(os.environ)
    findings += computer.check_program(places.home)
    inside, end = record.check_record(places.record)
    findings += inside
    findings += record.check_disk(places.record)
    findings += record.check_copies(settings.care, places.record, end, now=now)
    findings += record.check_clock(now)
    findings += computer.check_terminal(computer.terminal_now())
    findings += check_sound(settings)
    findings += _instruments(places, settings, ports=ports)
    return findings


def _instruments(places: Places, settings: Settings, *, ports: bool) -> list[Finding]:
    from bench.command_line import doctor_computer as computer
    from bench.command_line.doctor_finding import fault
    from bench.command_line.instrument_wiring import drivers_now, port_states
    from drivers.contract import PortSeen

    named = [PortSeen(one.url, one.name) for one in (settings.scale, settings.balancer) if one.url]
    try:
        found = computer.check_ports(settings, port_states(named) if ports else [])
    except ValueError as told:  # an address that names no link
        found = [fault("port-address", "instruments", str(told), "`spinledger instruments` lists the ports there are")]
    return [*found, *computer.check_drivers(drivers_now(places, settings))]


def reset_terminal() -> int:
    """Put a terminal right that a killed program left in its own state.

    Returns
    -------
    int
        Exit code.
    """
    from bench.command_line.terminal_reset import put_right

    put_right(sys.stdout)
    return ExitCode.FINE

"""`spinledger instruments`: what is connected, which profiles there are, what a recording gives."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json, places_and_settings

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument(
        "--try", dest="trial", nargs=2, metavar=("PROFILE", "FILE"), help="what a profile reads in a file"
    )
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
        Exit code.
    """
    places, settings = places_and_settings(args)
    if args.trial:
        return _try(args.trial[0], Path(args.trial[1]), places)
    return _list(places, settings, as_json=args.json)


def _list(places: Places, settings: Settings, *, as_json: bool) -> int:
    from dataclasses import asdict

    from bench.command_line.say import document, line
    from bench.command_line.wiring import ports_now, profile_names

    ports = ports_now()
    scales, balancers = profile_names(places)
    if as_json:
        document({"ports": [asdict(port) for port in ports], "scale_profiles": scales, "balancer_profiles": balancers})
        return ExitCode.FINE
    line("ports:" if ports else "ports: none seen; is the scale switched on and its cable plugged in?")
    for port in ports:
        number = f", serial number {port.serial_number}" if port.serial_number else ""
        line(f"  {port.url}  {port.words}{number}")
    line(f"scale: {settings.scale.url or 'not set'}, profile {settings.scale.profile}")
    line(f"balancer: {settings.balancer.folder or 'no folder set'}, profile {settings.balancer.profile}")
    line(f"scale profiles: {', '.join(scales)}")
    line(f"balancer profiles: {', '.join(balancers)}")
    return ExitCode.FINE


def _try(profile: str, path: Path, places: Places) -> int:
    from bench.command_line.say import line
    from bench.command_line.settings import InstrumentSettings
    from bench.command_line.wiring import export_reader, profile_names, read_text_file, scale_driver
    from drivers.contract import LineFault, SpinReading

    data = read_text_file(path).data
    instrument = InstrumentSettings(name="trial", profile=profile)
    bad = 0
    if profile in profile_names(places)[1]:
        for found in export_reader(instrument, places).read(data):
            if isinstance(found, SpinReading):
                planes = "; ".join(
                    f"{p.plane} {p.amount} {found.unit} at {p.heavy_angle_deg:.1f}°" for p in found.planes
                )
                line(f"run {found.label}: {planes}")
            else:
                bad += 1
                line(f"line {found.line}: {found.found}; wanted {found.wanted}. {found.do}")
        return ExitCode.NEGATIVE if bad else ExitCode.FINE
    for item in scale_driver(instrument, places).feed(data, 0):
        if isinstance(item, LineFault):
            bad += 1
            line(f"not read: {item.found}; wanted {item.wanted}")
        else:
            shown = item.condition.value if item.value is None else f"{item.value} {item.unit}"
            line(f"{shown}{'' if item.steady is None else ', steady' if item.steady else ', moving'}")
    return ExitCode.NEGATIVE if bad else ExitCode.FINE

"""`spinledger instruments`: what is connected and how it is, which profiles there are, what a recording gives."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json, places_and_settings

if TYPE_CHECKING:
    from bench.command_line.instrument_wiring import PortState
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from drivers.contract import PortSeen

_SPEAKS = "speaks"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument(
        "words", nargs="*", metavar="try PROFILE FILE", help="what a profile reads in a recording or a text"
    )
    parser.add_argument("--try", dest="trial", nargs=2, metavar=("PROFILE", "FILE"), help="the same")
    parser.add_argument("--no-listening", action="store_true", help="list the ports only, open none")
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
        Exit code; 1 when a line or text of a trial is not read.
    """
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    trial: list[str] = args.trial or []
    match args.words:
        case []:
            pass
        case ["try", profile, path]:
            trial = [profile, path]
        case words:
            wanted = "nothing more, or: try PROFILE FILE"
            raise RefusedError(
                "instruments", found=" ".join(words), wanted=wanted, do="see `spinledger instruments -h`"
            )
    if trial:
        return _try(trial[0], Path(trial[1]), places, settings, as_json=args.json)
    return _list(places, settings, as_json=args.json, listening=not args.no_listening)


def _list(places: Places, settings: Settings, *, as_json: bool, listening: bool) -> int:
    from dataclasses import asdict

    from bench.command_line.instrument_wiring import drivers_now, lasting_address, port_states, ports_now
    from bench.command_line.say import document, line

    ports = ports_now()
    named = settings.scale.url
    states = port_states([*_openable(ports), *_also(ports, named)]) if listening else []
    about = {state.port.url: state for state in states}
    drivers = drivers_now(places, settings)
    if as_json:
        document(
            {
                "ports": [
                    {"address": lasting_address(port, ports)} | asdict(port) | _told(about.get(port.url))
                    for port in (*ports, *_also(ports, named))
                ],
                "scale": {"url": named, "profile": settings.scale.profile} | _told(about.get(named)),
                "balancer": settings.balancer.model_dump(exclude={"name"}),
                "scale_profiles": [one.name for one in drivers if (one.kind, one.sort) == ("scale", "profile")],
                "balancer_profiles": [one.name for one in drivers if (one.kind, one.sort) == ("balancer", "profile")],
                "not_working": [{"name": one.name, "words": one.words} for one in drivers if one.state != "works"],
            }
        )
        return ExitCode.FINE
    line("ports:" if ports else "ports: none seen; is the scale switched on and its cable plugged in?")
    for port in ports:
        number = f", serial number {port.serial_number}" if port.serial_number else ""
        line(f"  {port.url}  {port.words}{number}{_in_words(about.get(port.url))}")
        lasting = lasting_address(port, ports)
        if lasting != port.url:
            line(f"      keep it as {lasting}: that stays when the port's name changes")
    line(f"scale: {named or 'not set'}, profile {settings.scale.profile}{_in_words(about.get(named))}")
    if not named:
        line("      `spinledger teach` connects one, whatever its lines look like")
    line(f"balancer: {_balancer_place(settings)}, profile {settings.balancer.profile}")
    for kind in ("scale", "balancer"):
        names = [one.name for one in drivers if (one.kind, one.sort, one.state) == (kind, "profile", "works")]
        line(f"{kind} profiles: {', '.join(names)}")
    for one in drivers:
        if one.state != "works":
            line(f"{one.kind} {one.sort} {one.name}: {one.state}; {one.words}")
    return ExitCode.FINE


def _openable(ports: list[PortSeen]) -> list[PortSeen]:
    return [port for port in ports if not port.url.startswith("hid:")]


def _also(ports: list[PortSeen], url: str) -> list[PortSeen]:
    """Return the settings' scale where it is none of the ports, for instance a network connection."""
    from drivers.contract import PortSeen

    if not url or url.startswith(("hid:", "replay:", "tcp:")) or any(port.url == url for port in ports):
        return []
    return [PortSeen(url, "the settings' scale")]


def _balancer_place(settings: Settings) -> str:
    if settings.balancer.folder:
        missing = (
            "" if Path(settings.balancer.folder).expanduser().is_dir() else " (absent: make it, or mount the share)"
        )
        return f"folder {settings.balancer.folder}{missing}"
    return f"port {settings.balancer.url}" if settings.balancer.url else "no folder and no port set"


def _word(state: PortState) -> str:
    return _SPEAKS if state.state.value == "open" else state.state.value


def _in_words(state: PortState | None) -> str:
    if state is None:
        return ""
    heard = f", last line {state.detail}" if state.state.value in {"open", "garbled"} else ""
    return f": {_word(state)}{heard}" + (f"; {state.remedy}" if state.remedy else "")


def _told(state: PortState | None) -> dict[str, str]:
    if state is None:
        return {}
    return {"state": _word(state), "detail": state.detail, "remedy": state.remedy}


def _try(profile: str, path: Path, places: Places, settings: Settings, *, as_json: bool) -> int:
    from bench.command_line.instrument_wiring import profile_names
    from bench.command_line.say import document, line

    balancer = profile in profile_names(places)[1]
    read = (_try_export if balancer else _try_scale)(profile, path, places, settings)
    if as_json:
        document(read)
    else:
        for one in read:
            line(one["words"])
    kinds = {one["is"] for one in read}
    if not as_json and kinds <= {"link"}:
        line("nothing: not a single whole line; is it the right file?")
    return ExitCode.NEGATIVE if "fault" in kinds or kinds <= {"link"} else ExitCode.FINE


def _try_export(profile: str, path: Path, places: Places, settings: Settings) -> list[dict[str, str]]:
    from bench.command_line.instrument_wiring import export_reader, plugins, read_text_file
    from bench.command_line.settings import InstrumentSettings
    from drivers.contract import SpinReading

    reader = export_reader(InstrumentSettings(name="trial", profile=profile), places, allowed=plugins(settings))
    told: list[dict[str, str]] = []
    for found in reader.read(read_text_file(path).data):
        if isinstance(found, SpinReading):
            planes = "; ".join(f"{p.plane} {p.amount} {found.unit} at {p.heavy_angle_deg:.1f}°" for p in found.planes)
            told.append({"is": "run", "words": f"run {found.label}: {planes}"})
        else:
            words = f"line {found.line}: {found.found}; wanted {found.wanted}. {found.do}"
            told.append({"is": "fault", "words": words})
    return told


def _try_scale(profile: str, path: Path, places: Places, settings: Settings) -> list[dict[str, str]]:
    from bench.command_line.instrument_wiring import heard_in_file, plugins, scale_driver
    from bench.command_line.settings import InstrumentSettings
    from drivers.contract import LineFault, LinkState

    driver = scale_driver(InstrumentSettings(name="trial", profile=profile), places, allowed=plugins(settings))
    told: list[dict[str, str]] = []
    for item in heard_in_file(path):
        if not isinstance(item, bytes):
            if item.state is not LinkState.OPEN:
                driver.link_lost()
            told.append({"is": "link", "words": f"-- {item.state.value} {item.detail}".rstrip()})
            continue
        for read in driver.feed(item, 0):
            if isinstance(read, LineFault):
                told.append({"is": "fault", "words": f"not read: {read.found}; wanted {read.wanted}"})
            else:
                shown = read.condition.value if read.value is None else f"{read.value} {read.unit}"
                steady = "" if read.steady is None else ", steady" if read.steady else ", moving"
                told.append({"is": "reading", "words": shown + steady + (", net" if read.net else "")})
    return told

"""`spinledger settings`: what is set, where each value came from, and change it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any, cast

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument(
        "--set", dest="put", action="append", metavar="KEY=VALUE", help="change a setting; may be repeated"
    )
    parser.add_argument("--unset", action="append", metavar="KEY", help="back to the default")
    add_json(parser)


def _flat(values: dict[str, Any], prefix: str = "") -> dict[str, object]:
    flat: dict[str, object] = {}
    for key, value in values.items():
        if isinstance(value, dict):
            flat |= _flat(cast("dict[str, Any]", value), f"{prefix}{key}.")
        else:
            flat[prefix + key] = value
    return flat


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
    from bench.command_line.places import find_places
    from bench.command_line.say import document, line
    from bench.command_line.settings import read_settings

    places = find_places()
    if args.put or args.unset:
        _change(places.settings, args.put or [], args.unset or [])
    settings, origin = read_settings(places.settings)
    flat = _flat(settings.model_dump())
    if args.json:
        document(
            {
                "file": str(places.settings),
                "record": str(places.record),
                "values": {key: {"value": value, "from": origin.get(key, "default")} for key, value in flat.items()},
            }
        )
        return ExitCode.FINE
    line(f"file: {places.settings}{'' if places.settings.exists() else ' (not there yet)'}")
    line(f"record: {places.record}")
    for key, value in flat.items():
        shown = repr(value) if value == "" else str(value)
        line(f"{key} = {shown}   ({origin.get(key, 'default')})")
    return ExitCode.FINE


def _change(path: Path, put: list[str], unset: list[str]) -> None:
    from bench.command_line.settings import read_settings
    from bench.command_line.settings_writing import keep, key_path
    from bench.use_cases.errors import RefusedError

    changes: dict[tuple[str, ...], str | None] = {}
    for words in put:
        key, equals, value = words.partition("=")
        if not equals:
            raise RefusedError(f"--set {words}", found="no equals sign", wanted="KEY=VALUE, e.g. theme=chalk")
        changes[key_path(key.strip())] = value.strip()
    for key in unset:
        changes[key_path(key.strip())] = None
    if ("plugins",) in changes:
        changes |= _leave(changes["plugins",] or "", read_settings(path)[0].plugin_files)
    keep(path, changes)


def _leave(words: str, known: dict[str, str]) -> dict[tuple[str, ...], str | None]:
    """Write down which files are meant by the plug-ins that may run, and say so."""
    from bench.command_line.instrument_wiring import print_of_plug_in
    from bench.command_line.say import talk
    from bench.command_line.settings import plug_in_names

    names = plug_in_names(words)
    prints: dict[tuple[str, ...], str | None] = {("plugin_files", name): None for name in known if name not in names}
    for name in names:
        prints["plugin_files", name] = print_of_plug_in(name)
        talk(
            f"{name} may run, as it is now: {prints['plugin_files', name]}. "
            "It is somebody else's program with your rights; it runs in a process of its own"
        )
    return prints

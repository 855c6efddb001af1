"""Options that several commands share."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings


def add_by(parser: argparse.ArgumentParser) -> None:
    """Add `--by`.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--by", help="initials of who is at the bench")


def add_scale(parser: argparse.ArgumentParser) -> None:
    """Add `--scale` and `--scale-profile`.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--scale", help="device or URL: /dev/ttyUSB0, COM3, socket://host:port, rfc2217://host:port")
    parser.add_argument("--scale-profile", help="profile of the scale's lines")


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add `--json`.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")


def places_and_settings(args: argparse.Namespace) -> tuple[Places, Settings]:
    """Return where things live, and the settings with the options given.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    tuple[Places, Settings]
        Ready.
    """
    from bench.command_line.places import find_places
    from bench.command_line.settings import read_settings

    places = find_places()
    overrides: dict[tuple[str, ...], str] = {
        keys: str(value)
        for name, keys in (
            ("by", ("by",)),
            ("scale", ("scale", "url")),
            ("scale_profile", ("scale", "profile")),
            ("folder", ("balancer", "folder")),
            ("balancer_profile", ("balancer", "profile")),
        )
        if (value := getattr(args, name, None))
    }
    settings, _ = read_settings(places.settings, overrides)
    return places, settings

"""Looks into the parser: which commands and arguments it has. The standard library lists them nowhere in public."""
# pyright: reportPrivateUsage=false, reportUnknownMemberType=false

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import cast


def arguments_of(parser: argparse.ArgumentParser) -> list[argparse.Action]:
    """Return the arguments of a parser, those that choose a command left out.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser.

    Returns
    -------
    list[argparse.Action]
        In order.
    """
    return [action for action in parser._actions if not isinstance(action.choices, Mapping)]  # noqa: SLF001 see above


def commands_of(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    """Return the commands of a parser.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser.

    Returns
    -------
    dict[str, argparse.ArgumentParser]
        By name, in order.
    """
    commands: dict[str, argparse.ArgumentParser] = {}
    for action in parser._actions:  # noqa: SLF001 see above
        if isinstance(action.choices, Mapping):
            commands |= cast("Mapping[str, argparse.ArgumentParser]", action.choices)
    return commands


def all_arguments(parser: argparse.ArgumentParser) -> list[argparse.Action]:
    """Return the arguments of a parser and of all its commands.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser.

    Returns
    -------
    list[argparse.Action]
        In order.
    """
    inner = [action for command in commands_of(parser).values() for action in all_arguments(command)]
    return arguments_of(parser) + inner

"""`spinledger completion SHELL`: what a shell needs to complete our commands, and the manual page."""

from __future__ import annotations

import argparse

from bench.command_line.exit_codes import ExitCode

SHELLS = ("bash", "zsh", "fish", "powershell")
MANUAL = "man"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("shell", choices=(*SHELLS, MANUAL), help="which shell; man gives the manual page")


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
    print(manual() if args.shell == MANUAL else shell_code(args.shell))
    return ExitCode.FINE


def shell_code(shell: str) -> str:
    """Return what a shell is told once.

    Parameters
    ----------
    shell : str
        One of `SHELLS`.

    Returns
    -------
    str
        In the shell's language.
    """
    from argcomplete.shell_integration import shellcode

    return shellcode(["spinledger"], shell=shell)


def manual() -> str:
    """Return the manual page.

    Returns
    -------
    str
        In the language of man.
    """
    from bench.command_line.main import COMMANDS, build_parser
    from bench.command_line.manual_page import manual_page

    return manual_page(build_parser(*COMMANDS))


def complete() -> None:
    """Answer a shell that asks what could come next; ends the process."""
    import argcomplete

    from bench.command_line.main import COMMANDS, build_parser
    from bench.command_line.parser_tree import all_arguments

    parser = build_parser(*COMMANDS)
    for action in all_arguments(parser):
        if action.dest == "job":
            action.completer = job_numbers  # type: ignore[attr-defined]
    argcomplete.autocomplete(parser)


def job_numbers(**_: object) -> list[str]:
    """Return the numbers of the record's jobs.

    Returns
    -------
    list[str]
        Empty when the record cannot be read now.
    """
    from bench.command_line.places import find_places
    from bench.command_line.record_wiring import read_trail
    from bench.command_line.settings import Settings
    from bench.trail.errors import RecordError

    try:
        trail = read_trail(find_places(), Settings())
    except (RecordError, OSError):
        return []
    if trail is None:
        return []
    try:
        return [line.number for line in trail.jobs()]
    finally:
        trail.close()

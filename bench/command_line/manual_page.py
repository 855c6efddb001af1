"""The manual page, made from the same parser that reads the command line, so that it cannot fall behind."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from bench import __version__
from bench.command_line.command_examples import EXAMPLES, GENERAL
from bench.command_line.exit_codes import ExitCode
from bench.command_line.parser_tree import arguments_of, commands_of

CODE_WORDS = {
    ExitCode.FINE: "fine",
    ExitCode.NEGATIVE: "negative finding: out of tolerance, a check failed",
    ExitCode.USAGE: "usage, settings or version",
    ExitCode.TRY_AGAIN: "try again: port absent or busy, record locked",
    ExitCode.INPUT_REFUSED: "input refused",
    ExitCode.NOT_WHOLE: "the record is not whole",
    ExitCode.STORAGE: "storage: full or read-only",
    ExitCode.OUR_BUG: "our mistake",
    ExitCode.INTERRUPTED: "Ctrl-C",
    ExitCode.TERMINATED: "terminated",
}


def manual_page(parser: argparse.ArgumentParser) -> str:
    """Return the manual page.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        With the arguments of all commands loaded.

    Returns
    -------
    str
        In the language of man(7).
    """
    return "\n".join(_lines(parser)) + "\n"


def _lines(parser: argparse.ArgumentParser) -> Iterator[str]:
    yield f'.TH SPINLEDGER 1 "" "spinledger {_plain(__version__)}" "spinledger"'
    yield ".SH NAME"
    yield r"spinledger \- data logger and bench assistant for balancing rotating assemblies"
    yield ".SH SYNOPSIS"
    yield r".B spinledger"
    yield r"[\fICOMMAND\fR] [\fIOPTIONS\fR]"
    yield ".SH EXAMPLES"
    yield from _examples(GENERAL)
    yield ".SH COMMANDS"
    for name, inner in commands_of(parser).items():
        yield f".SS spinledger {_plain(name)}"
        yield _plain((inner.description or "").partition("\n")[0])
        yield from _arguments(inner)
        yield from _examples(EXAMPLES.get(name, ()))
    yield ".SH EXIT STATUS"
    for code, words in CODE_WORDS.items():
        yield from (".TP", f".B {int(code)}", _plain(words))


def _examples(examples: tuple[tuple[str, str], ...]) -> Iterator[str]:
    for command, words in examples:
        yield from (".TP", f".B {_plain(command)}", _plain(words))


def _arguments(parser: argparse.ArgumentParser) -> Iterator[str]:
    for action in arguments_of(parser):
        if action.dest == "help":
            continue
        wanted = action.metavar if isinstance(action.metavar, tuple) else (action.metavar or action.dest.upper(),)
        names = ", ".join(action.option_strings) or wanted[0].lower()
        value = f" {' '.join(wanted)}" if action.option_strings and action.nargs != 0 else ""
        choices = f" (one of {', '.join(map(str, action.choices))})" if action.choices else ""
        yield from (".TP", f".B {_plain(names + value)}", _plain((action.help or "") + choices) or r"\&")
    for name, inner in commands_of(parser).items():
        yield from (".TP", f".B {_plain(name)}", _plain((inner.description or "").partition("\n")[0]) or r"\&")
        yield from _arguments(inner)


def _plain(text: str) -> str:
    words = " ".join(text.split()).replace("\\", r"\e").replace("-", r"\-")
    return rf"\&{words}" if words[:1] in {".", "'"} else words

"""Numbers that safety hangs on, typed at a command line: said back with their units, odd ones asked about."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bench.use_cases.errors import RefusedError

if TYPE_CHECKING:
    from bench.models.job import JobSpec


class DoubtedError(RefusedError):
    """What was typed looks like a slip, and nobody has said that it is meant."""

    of_settings = True


def add_as_typed(parser: argparse.ArgumentParser) -> None:
    """Add `--as-typed`.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The verb's own.
    """
    parser.add_argument(
        "--as-typed", action="store_true", help="numbers that look like a slip are meant as they are typed"
    )


def say_back(spec: JobSpec) -> None:
    """Say the numbers that decide when a crank is done, with their units.

    Parameters
    ----------
    spec : JobSpec
        The job.
    """
    from bench.command_line.say import talk
    from bench.use_cases.safety_numbers import numbers_of

    for words, value in numbers_of(spec):
        talk(f"{words}: {value}")


def doubts_asked(spec: JobSpec, *, before: JobSpec | None = None, as_typed: bool, what: str) -> None:
    """Ask about what looks like a slip; without anybody to ask it is refused.

    Parameters
    ----------
    spec : JobSpec
        As it would be recorded.
    before : JobSpec | None
        What was there before; its doubts were confirmed then.
    as_typed : bool
        It was said that the numbers are meant.
    what : str
        What it is about, for the message.

    Raises
    ------
    DoubtedError
        When it is doubted and not confirmed.
    """
    from bench.use_cases.intake_doubts import doubts_of

    known = {doubt.words for doubt in doubts_of(before)} if before is not None else set[str]()
    doubts = [doubt.words for doubt in doubts_of(spec) if doubt.words not in known]
    if doubts and not as_typed and not _meant(doubts):
        raise DoubtedError(what, found="; ".join(doubts), do="correct it, or say --as-typed when it is meant so")


def _meant(doubts: Sequence[str]) -> bool:
    """Ask whoever sits at the terminal; nobody there is no."""
    from bench.command_line.say import talk

    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return False
    for words in doubts:
        talk(f"? {words}")
    talk("Is that meant as it is typed? yes or no:")
    return sys.stdin.readline().strip().casefold() in {"y", "yes"}

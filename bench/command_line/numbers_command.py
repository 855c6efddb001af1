"""`spinledger numbers`: jobs, runs, minutes, sets and scale checks by bench and month."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bench.command_line.exit_codes import ExitCode
from bench.command_line.office_wiring import add_record, shared_address
from bench.command_line.options import add_json, places_and_settings

if TYPE_CHECKING:
    from bench.sharing.month_numbers import MonthNumbers

BAR = 24
_MONTH = re.compile(r"[0-9]{4}(-[0-9]{2}){0,2}")
HEADS = {
    "bench": "bench",
    "month": "month",
    "jobs": "jobs",
    "signed": "signed off",
    "within": "within",
    "runs_a_job": "runs a job",
    "minutes_a_job": "minutes a job",
    "sets": "sets",
    "sets_out": "out",
    "checks": "checks",
    "checks_failed": "failed",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("--by", choices=("bench", "month", "both", "all"), default="both", help="what stays apart")
    parser.add_argument("--since", default="", metavar="MONTH", help="jobs opened from this month or day on: 2031-05")
    parser.add_argument("--until", default="", metavar="MONTH", help="up to this month or day, with all of it")
    parser.add_argument(
        "--bars", choices=("jobs", "runs_a_job", "minutes_a_job", "sets_out", "checks_failed"), help="with bars of this"
    )
    parser.add_argument("--page", type=Path, metavar="FOLDER", help="write a page with pictures there")
    add_record(parser)
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
        1 when no job was opened in that time.
    """
    from bench.command_line.say import document, line, talk
    from bench.sharing.month_numbers import together

    for given in (args.since, args.until):
        _refuse_odd(given)
    numbers = _read(args)
    apart = {"both": ("bench", "month"), "all": ()}.get(args.by, (args.by,))
    told = together(numbers, by=apart)
    if args.page is not None and told:
        line(_write_page(args.page, numbers))
    if args.json:
        document([_row(one) for one in told])
    elif told:
        _print(told, apart, bars=args.bars)
    else:
        talk("no job was opened in that time; simulated ones do not count")
    return ExitCode.FINE if told else ExitCode.NEGATIVE


def _refuse_odd(given: str) -> None:
    from bench.use_cases.errors import RefusedError

    if given and not _MONTH.fullmatch(given):
        raise RefusedError("numbers", found=f"'{given[:20]}'", wanted="a month or day: 2031, 2031-05 or 2031-05-07")


def _read(args: argparse.Namespace) -> list[MonthNumbers]:
    from bench.command_line.record_wiring import read_trail
    from bench.sharing.month_numbers import record_numbers
    from bench.sharing.office import looking

    until = args.until or "9999"
    if address := shared_address(args):
        with looking(address) as office:
            return office.numbers(since=args.since, until=until)
    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    if trail is None:
        return []
    try:
        return record_numbers(trail, since=args.since, until=until)
    finally:
        trail.close()


def _row(one: MonthNumbers) -> dict[str, Any]:
    from dataclasses import asdict

    return asdict(one) | {"runs_a_job": one.runs_a_job, "minutes_a_job": one.minutes_a_job}


def _print(told: list[MonthNumbers], apart: tuple[str, ...], *, bars: str | None) -> None:
    from bench.command_line.say import table

    heads = {key: words for key, words in HEADS.items() if key not in {"bench", "month"} or key in apart}
    rows: list[Mapping[str, str]] = []
    values = [_row(one) for one in told]
    most = max((float(row[bars] or 0) for row in values), default=0.0) if bars else 0.0
    for row in values:
        cells = {key: f"{row[key]:.1f}" if isinstance(row[key], float) else str(row[key]) for key in heads}
        if bars:
            cells["bar"] = "#" * round(BAR * float(row[bars] or 0) / most) if most else ""
        rows.append(cells)
    if bars:
        heads |= {"bar": HEADS[bars]}
    table(rows, heads)


def _write_page(folder: Path, numbers: list[MonthNumbers]) -> str:
    from bench.reports.numbers_page import Figures, numbers_page
    from bench.reports.safe_names import ExportError, write_new
    from bench.sharing.month_numbers import together
    from bench.use_cases.errors import RefusedError

    figures = [
        Figures(**{key: row[key] for key in HEADS}) for row in map(_row, together(numbers, by=("bench", "month")))
    ]
    try:
        return str(write_new(folder, "numbers.html", numbers_page(figures).encode("utf-8")))
    except ExportError as fault:
        raise RefusedError(str(folder), found=str(fault)) from fault

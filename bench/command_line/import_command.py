"""`spinledger import JOB FILE`: weights from CSV or a spreadsheet; a preview first, the taking on a yes."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, add_json, places_and_settings

if TYPE_CHECKING:
    from bench.use_cases.bring_in import PlanIn


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job", help="job number")
    parser.add_argument("file", type=Path, help="CSV or xlsx")
    parser.add_argument(
        "--map",
        dest="mapping",
        action="append",
        default=[],
        metavar="COLUMN=PART",
        help="what a column means; it is kept",
    )
    parser.add_argument("--yes", action="store_true", help="take what is shown; without it nothing is taken")
    add_by(parser)
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
        1 when the sheet holds something that could not be read.
    """
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line
    from bench.command_line.who import somebody
    from bench.reports.sheet_reading import read_sheet
    from bench.use_cases.bring_in import bring_in, plan_in

    places, settings = places_and_settings(args)
    settings = somebody(places, settings) if args.yes else settings
    told = _mapping(args.mapping)
    sheet = read_sheet(args.file)
    trail = open_trail(places, settings)
    try:
        scribe = scribe_for(trail, settings)
        state = scribe.choose(args.job)
        _known(told, tuple(kind.name for kind in state.spec.kinds))
        plan = plan_in(state, sheet, {**settings.columns, **told})
        _show(plan, as_json=args.json)
        events = bring_in(scribe, plan) if args.yes else []
    finally:
        trail.close()
    if told:
        from bench.command_line.settings_writing import keep

        keep(places.settings, {("columns", head): name for head, name in told.items()})
    if not args.json:
        taken = f"taken: {len(events)} weights (entries {events[0].seq} to {events[-1].seq})" if events else ""
        line(taken or f"nothing taken yet; `--yes` takes {len(plan.lines)} weights")
    return ExitCode.NEGATIVE if plan.complaints else ExitCode.FINE


def _mapping(words: list[str]) -> dict[str, str]:
    from bench.use_cases.errors import RefusedError

    told: dict[str, str] = {}
    for each in words:
        head, equals, name = each.rpartition("=")
        if not equals or not head.strip():
            raise RefusedError(f"--map {each}", found="no equals sign", wanted="COLUMN=PART, e.g. 'weight 1'=piston")
        told[head.strip()] = name.strip()
    return told


def _known(told: dict[str, str], kinds: tuple[str, ...]) -> None:
    import difflib

    from bench.use_cases.errors import RefusedError

    for head, name in told.items():
        if name not in kinds:
            near = difflib.get_close_matches(name, kinds, n=1)
            wanted = f"'{near[0]}', the nearest there is" if near else f"one of {', '.join(kinds)}"
            raise RefusedError(f"--map {head}={name}", found=f"'{name}' is no part of this job", wanted=wanted)


def _show(plan: PlanIn, *, as_json: bool) -> None:
    from bench.command_line.say import document, line, table, talk

    if as_json:
        document(
            {
                "source": plan.source,
                "columns": dict(plan.columns),
                "weights": [
                    {"part": each.cell.kind, "place": each.cell.place, "grams": str(each.grams), "where": each.where}
                    for each in plan.lines
                ],
                "complaints": plan.complaints,
                "doubts": plan.doubts,
            }
        )
        return
    for head, name in plan.columns:
        line(f"column {head}: {name or 'not taken; name it with --map'}")
    rows: list[Mapping[str, str]] = [
        {
            "part": str(each.cell),
            "grams": str(each.grams),
            "before": "" if each.before is None else f"replaces {each.before}",
            "where": each.where,
        }
        for each in plan.lines
    ]
    table(rows, {"part": "part", "grams": "grams", "before": "", "where": "from"})
    for words in plan.doubts:
        talk(f"look: {words}")
    for words in plan.complaints:
        talk(f"left out: {words}")

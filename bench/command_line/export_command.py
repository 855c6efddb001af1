"""`spinledger export JOB`: the job as CSV, spreadsheet or JSON."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings

if TYPE_CHECKING:
    from bench.models.job_state import JobState
    from bench.trail.contract import Trail


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job")
    parser.add_argument("--as", dest="form", choices=("csv", "xlsx", "json"), default="xlsx")
    parser.add_argument("--folder", type=Path, help="where to; the folder of certificates when left out")


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
    from bench.command_line.record_wiring import read_trail, scribe_for
    from bench.command_line.say import line
    from bench.reports.safe_names import ExportError, export_name, write_new
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    if trail is None:
        raise RefusedError(f"job {args.job}", found="there is no record yet", do="`spinledger job new` opens a job")
    try:
        state = scribe_for(trail, settings).choose(args.job)
        files = _files(args.form, state, trail)
    finally:
        trail.close()
    folder = args.folder or places.certificates
    try:
        for suffix, data in files:
            line(str(write_new(folder, export_name(job=state.number, title=state.spec.title, suffix=suffix), data)))
    except ExportError as fault:
        raise RefusedError(str(folder), found=str(fault)) from fault
    return ExitCode.FINE


def _files(form: str, state: JobState, trail: Trail) -> list[tuple[str, bytes]]:
    from datetime import UTC, datetime

    from bench import __version__
    from bench.reports.job_json import job_document, job_json
    from bench.reports.sheet_csv import sheet_csv
    from bench.reports.spreadsheet import spreadsheet
    from bench.reports.tables import job_tables
    from bench.use_cases.review_job import review_job

    review = review_job(state)
    if form == "json":
        document = job_document(
            state=state,
            review=review,
            checkpoint=trail.checkpoint(),
            app_version=__version__,
            events=trail.events(job=state.number),
        )
        return [(".json", job_json(document).encode())]
    tables = job_tables(state, review)
    if form == "csv":
        return [(f".{table.name}.csv", sheet_csv(table).encode("utf-8-sig")) for table in tables]
    return [(".xlsx", spreadsheet(tables, written=datetime.now(UTC)))]

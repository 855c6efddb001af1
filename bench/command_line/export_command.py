"""`spinledger export JOB`: CSV, spreadsheet, JSON or all of it in a folder; labels for its parts, a form to print."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings

if TYPE_CHECKING:
    from bench.models.job_state import JobState
    from bench.trail.sqlite_store import SqliteTrail

FORMS = ("csv", "xlsx", "json", "folder", "labels", "form")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job")
    parser.add_argument("--as", dest="form", choices=FORMS, default="xlsx")
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
    folder = args.folder or places.certificates
    try:
        state = scribe_for(trail, settings).choose(args.job)
        if args.form == "folder":
            for path in _folder(state, trail, folder):
                line(str(path))
            return ExitCode.FINE
        files = _files(args.form, state, trail)
    except ExportError as fault:
        raise RefusedError(str(folder), found=str(fault)) from fault
    finally:
        trail.close()
    try:
        for suffix, data in files:
            line(str(write_new(folder, export_name(job=state.number, title=state.spec.title, suffix=suffix), data)))
    except ExportError as fault:
        raise RefusedError(str(folder), found=str(fault)) from fault
    return ExitCode.FINE


def _files(form: str, state: JobState, trail: SqliteTrail) -> list[tuple[str, bytes]]:
    from datetime import UTC, datetime

    from bench import __version__
    from bench.reports.job_json import job_document, job_json
    from bench.reports.paper_form import paper_form
    from bench.reports.part_labels import part_labels
    from bench.reports.sheet_csv import sheet_csv
    from bench.reports.spreadsheet import spreadsheet
    from bench.reports.tables import job_tables
    from bench.trail.job_file import events_to_write, files_to_write, job_of_record
    from bench.use_cases.review_job import review_job

    if form == "labels":
        return [(".labels.html", part_labels(number=state.number, spec=state.spec).encode())]
    if form == "form":
        return [(".form.html", paper_form(number=state.number, spec=state.spec, app_version=__version__).encode())]
    review = review_job(state)
    if form == "json":
        kept = job_of_record(trail, state.number)
        document = job_document(
            state=state,
            review=review,
            checkpoint=trail.checkpoint(),
            app_version=__version__,
            events=events_to_write(kept),
            files=files_to_write(kept),
        )
        return [(".json", job_json(document).encode())]
    tables = job_tables(state, review)
    if form == "csv":
        return [(f".{table.name}.csv", sheet_csv(table).encode("utf-8-sig")) for table in tables]
    return [(".xlsx", spreadsheet(tables, written=datetime.now(UTC)))]


def _folder(state: JobState, trail: SqliteTrail, parent: Path) -> list[Path]:
    """Write all of a job into a folder of its own: every form, the certificate as it would stand now, attachments."""
    from datetime import UTC, datetime

    from bench import __version__
    from bench.reports.certificate import certificate_html
    from bench.reports.safe_names import export_name, new_folder, write_new
    from bench.trail.job_file import job_of_record
    from bench.use_cases.review_job import review_job

    home = new_folder(parent, export_name(job=state.number, title=state.spec.title, suffix=""))
    page = certificate_html(
        state=state,
        review=review_job(state),
        checkpoint=trail.checkpoint(),
        written_utc=datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
        app_version=__version__,
    )
    written = [write_new(home, "sheet.html", page.encode())]
    for form in ("json", "xlsx", "csv", "labels", "form"):
        for suffix, data in _files(form, state, trail):
            written.append(write_new(home, f"job{suffix}", data))
    kept = job_of_record(trail, state.number)
    names = _attached_names(trail, state.number)
    for sha256, content in kept.files.items():
        from bench.command_line.job_looking import write_out

        written.append(write_out(home / "attachments", state.number, names.get(sha256, sha256[:16]), content))
    return written


def _attached_names(trail: SqliteTrail, number: str) -> dict[str, str]:
    from bench.trail.events import FileAttached

    return {
        event.payload.sha256: event.payload.file_name
        for event in trail.events(job=number)
        if isinstance(event.payload, FileAttached)
    }

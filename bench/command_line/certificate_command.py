"""`spinledger certificate JOB`: write the certificate, as PDF as well if wanted."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Literal

from bench.command_line.exit_codes import ExitCode
from bench.command_line.office_wiring import add_record, office_certificate, shared_address
from bench.command_line.options import add_by, places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job")
    parser.add_argument("--pdf", choices=("A4", "Letter"), help="a PDF as well, where the extra for it is installed")
    parser.add_argument("--bench", default="", help="whose job, in the shared record")
    add_record(parser)
    add_by(parser)


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        1 when the PDF that was asked for could not be made.
    """
    from bench.command_line.certificate_files import certificate_writer
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line, talk
    from bench.command_line.who import somebody
    from bench.use_cases.sign_off import issue_certificate

    places, settings = places_and_settings(args)
    if address := shared_address(args):
        page = office_certificate(args, address, places.certificates)
        return _as_pdf(page, args.pdf) if args.pdf else ExitCode.FINE
    settings = somebody(places, settings)
    trail = open_trail(places, settings)
    try:
        scribe = scribe_for(trail, settings)
        scribe.choose(args.job)
        written = issue_certificate(scribe, certificate_writer(places))
    finally:
        trail.close()
    line(written.path)
    if written.unsigned_why:
        talk(written.unsigned_why)
    return _as_pdf(Path(written.path), args.pdf) if args.pdf else ExitCode.FINE


def _as_pdf(page: Path, paper: Literal["A4", "Letter"]) -> int:
    """Write the page as PDF beside it; the page stands whatever becomes of that."""
    from bench.command_line.say import line, talk
    from bench.reports.pdf import PdfMissingError, certificate_pdf
    from bench.trail.disk import write_whole

    try:
        data = certificate_pdf(page.read_text(encoding="utf-8"), paper=paper)
    except PdfMissingError as fault:
        talk(str(fault))
        return ExitCode.NEGATIVE
    write_whole(page.with_suffix(".pdf"), data)
    line(str(page.with_suffix(".pdf")))
    return ExitCode.FINE

"""`spinledger certificate JOB`: write the certificate."""

from __future__ import annotations

import argparse

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.add_argument("job")
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
        Exit code.
    """
    from bench.command_line.certificate_files import certificate_writer
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line
    from bench.use_cases.sign_off import issue_certificate

    places, settings = places_and_settings(args)
    trail = open_trail(places, settings)
    try:
        scribe = scribe_for(trail, settings)
        scribe.choose(args.job)
        written = issue_certificate(scribe, certificate_writer(places))
    finally:
        trail.close()
    line(written.path)
    return ExitCode.FINE

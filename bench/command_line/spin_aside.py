"""`spin --turned` and `spin --known-mass`: runs that are not the rotor's own."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from bench.computation.angle_check import AngleCheck
    from bench.use_cases.scribe import Scribe


def add_aside_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        That of `spin`.
    """
    parser.add_argument(
        "--turned",
        type=float,
        metavar="DEG",
        help="the last run was made with the bobweight set turned by so many degrees: rotor and set are told apart",
    )
    parser.add_argument(
        "--known-mass",
        type=float,
        metavar="G",
        help="the last runs are one without and then one with this mass at each --at: what do the angles mean?",
    )
    parser.add_argument("--plane", default="front", help="where the known mass was fastened (front)")
    parser.add_argument(
        "--at",
        type=float,
        nargs="+",
        default=[0.0, 90.0],
        metavar="DEG",
        help="where it was, counter-clockwise from the zero mark seen from the front (0 90)",
    )
    parser.add_argument("--keep", metavar="NAME", help="save the profile, put right, under this name and use it")


def set_aside_as_told(
    args: argparse.Namespace, scribe: Scribe, places: Places, settings: Settings, *, instrument: str
) -> None:
    """Set the last runs aside as the arguments tell, and say what they told.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.
    scribe : Scribe
        Who writes, with the job chosen.
    places : Places
        For the shop's own profiles.
    settings : Settings
        Name the profile.
    instrument : str
        How the machine is called in the record.
    """
    from bench.command_line.say import line
    from bench.use_cases.aside_runs import check_machine, mark_index_run
    from bench.use_cases.errors import RefusedError

    if args.keep and args.known_mass is None:
        raise RefusedError("--keep", found="no --known-mass", do="give the mass that was fastened")
    if args.turned is not None:
        found = mark_index_run(scribe, turned_deg=args.turned)
        line(f"{found.words} (entry {found.event.seq})")
    if args.known_mass is not None:
        found = check_machine(
            scribe, plane=args.plane, mass_g=args.known_mass, at_deg=tuple(args.at), instrument=instrument
        )
        line(f"{found.words} (entry {found.event.seq})")
        if args.keep and found.check is not None:
            _keep(args, found.check, places, settings, day=found.event.utc[:10])


def _keep(args: argparse.Namespace, check: AngleCheck, places: Places, settings: Settings, *, day: str) -> None:
    from bench.command_line.checked_profiles import CheckedProfiles
    from bench.command_line.say import line
    from bench.use_cases.commands import CheckMachine

    told = CheckMachine(args.plane, args.known_mass, tuple(args.at))
    kept = CheckedProfiles(places, settings).keep_checked(check, told, day=day, name=args.keep)
    line(f"saved in {kept.path} and used from now on; take back runs that were read otherwise and read them again")

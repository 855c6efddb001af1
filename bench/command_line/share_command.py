"""`spinledger share`: ship this bench's record to the shared one, and fetch what others shipped."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_json, places_and_settings

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from bench.trail.sqlite_store import SqliteTrail

HELP = """\
The bench's own record stays the first place of truth: it goes on alone when network or database are
down, and what was recorded meanwhile is shipped afterwards, in order and each event once.
A password belongs into the login's own password file (~/.pgpass), not into the address.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.epilog = HELP
    parser.add_argument(
        "--to", metavar="postgresql://…", help="the shared record; SPINLEDGER_SHARE or the setting share when left out"
    )
    parser.add_argument("--once", action="store_true", help="ship and fetch what there is, then end")
    parser.add_argument("--status", action="store_true", help="only tell how far it is")
    parser.add_argument("--prepare", action="store_true", help="make the tables, with the login that owns the database")
    parser.add_argument(
        "--moved", default="", metavar="WHY", help="this copy of the record ships from now on, the earlier one no more"
    )
    add_json(parser)


def share_address(given: str | None, settings: Settings) -> str:
    """Return the address of the shared record.

    Parameters
    ----------
    given : str | None
        As an option; None for the environment's or the settings'.
    settings : Settings
        The bench's settings.

    Returns
    -------
    str
        postgresql://…

    Raises
    ------
    RefusedError
        When there is none, or it is another kind of address.
    """
    from bench.trail.postgres_opening import is_shared
    from bench.use_cases.errors import RefusedError

    address = given or os.environ.get("SPINLEDGER_SHARE", "") or settings.share
    if not address:
        do = "give --to postgresql://bench@host/database, or `spinledger settings --set share=…` once"
        raise RefusedError("share", found="no shared record given", do=do)
    if not is_shared(address):
        raise RefusedError("share", found=f"'{address[:40]}'", wanted="an address that begins with postgresql://")
    return address


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        3 when the shared record is out of reach, 5 when the chain does not go on from what was shipped.
    """
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    address = share_address(args.to, settings)
    if args.prepare:
        return _prepare(address)
    if not places.record.exists():
        raise RefusedError(
            str(places.record), found="there is no record yet", do="`spinledger job new` or the dashboard makes one"
        )
    if args.status:
        return _status(args, places, settings, address)
    return _share(args, places, settings, address)


def _prepare(address: str) -> int:
    from bench.command_line.say import line
    from bench.trail.postgres_opening import connect_shared, shown

    connect_shared(address, make=True).close()
    line(f"{shown(address)}: ready. Give each bench a login of its own: CREATE ROLE north LOGIN IN ROLE "
         "spinledger_bench; and the office: CREATE ROLE office LOGIN IN ROLE spinledger_office")  # fmt: skip
    return ExitCode.FINE


def _opened(places: Places, settings: Settings) -> SqliteTrail:
    from bench.command_line.record_wiring import read_trail
    from bench.trail.errors import RecordMovedError

    trail = read_trail(places, settings)
    if trail is None:
        raise RecordMovedError(str(places.record), found="the record is gone", do="bring it back")
    return trail


def _status(args: argparse.Namespace, places: Places, settings: Settings, address: str) -> int:
    from contextlib import closing

    from bench.command_line.say import document, line
    from bench.sharing.forks import refuse_fork
    from bench.trail.postgres_opening import connect_shared, shown
    from bench.trail.postgres_reading import SharedReader

    with closing(_opened(places, settings)) as local, closing(connect_shared(address, look_only=True)) as connection:
        shared = SharedReader(connection, local.bench, shown(address))
        end, here = shared.checkpoint(), local.checkpoint()
        refuse_fork(local, shared, end)
    if args.json:
        document({"bench": here.bench, "recorded": here.length, "shipped": end.length})
    else:
        line(f"{here.bench}: {end.length} of {here.length} events shipped")
    return ExitCode.FINE if end.length == here.length else ExitCode.NEGATIVE


def _share(args: argparse.Namespace, places: Places, settings: Settings, address: str) -> int:
    from bench.command_line.progress import ProgressBar
    from bench.command_line.say import document, talk
    from bench.sharing.background_share import BackgroundShare, ShareTold

    bars: dict[str, ProgressBar] = {}

    def show(part: str, done: int, total: int) -> None:
        bar = bars.setdefault(part, ProgressBar(total))
        bar(part, done)
        if done >= total:
            bars.pop(part).end()

    share = BackgroundShare(
        lambda: _opened(places, settings),
        places.others,
        address,
        tell=ShareTold(
            said=talk,
            shipping=lambda done, total: show("ship", done, total),
            fetching=lambda done, total: show("fetch", done, total),
        ),
        moved=args.moved,
    )
    share.run(once=args.once)
    if args.json:
        document({"shipped": share.shipped})
    return ExitCode.FINE

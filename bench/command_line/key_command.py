"""`spinledger key`: the key this bench signs certificates with."""

from __future__ import annotations

import argparse

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import add_by, add_json, places_and_settings


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="VERB")
    new = verbs.add_parser("new", help="make a key, show its public half in the record, sign certificates with it")
    new.add_argument("--reason", default="", help="why another one takes the place of the last: lost, given away")
    add_by(new)
    add_json(verbs.add_parser("list", help="the keys this record knows, and which of them is here"))


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        1 from `list` when no key is here, or one the record does not know.
    """
    return _new(args) if args.verb == "new" else _list(args)


def _new(args: argparse.Namespace) -> int:
    from bench.command_line.record_wiring import open_trail, scribe_for
    from bench.command_line.say import line
    from bench.command_line.who import somebody
    from bench.trail.keeping_events import KeyShown
    from bench.trail.signing import keys_shown, make_key
    from bench.use_cases.errors import RefusedError

    places, settings = places_and_settings(args)
    settings = somebody(places, settings)
    trail = open_trail(places, settings)
    try:
        before = list(keys_shown(trail))
        if before and not args.reason.strip():
            raise RefusedError("key new", found=f"this record has a key, {before[-1][:16]}", do="give --reason")
        public = make_key(places.key)
        payload = KeyShown(public=public, replaces=before[-1] if before else "", reason=args.reason.strip()[:200])
        event = scribe_for(trail, settings).record([payload], how="typed", job="")[0]
    finally:
        trail.close()
    line(f"key {public[:16]} made (entry {event.seq}); certificates are signed with it from now on")
    line(f"it lies in {places.key}: who has that file signs as this bench. Backups of the record do not hold it")
    return ExitCode.FINE


def _list(args: argparse.Namespace) -> int:
    from bench.command_line.record_wiring import read_trail
    from bench.command_line.say import document, line, talk
    from bench.trail.signing import KeyFileError, keys_shown, read_key

    places, settings = places_and_settings(args)
    trail = read_trail(places, settings)
    try:
        known = {} if trail is None else keys_shown(trail)
    finally:
        if trail is not None:
            trail.close()
    try:
        key, trouble = read_key(places.key), ""
    except KeyFileError as fault:
        key, trouble = None, str(fault)
    here = key[1] if key is not None else ""
    if args.json:
        document({"keys": [{"public": public, "no": seq, "here": public == here} for public, seq in known.items()]})
    for public, seq in () if args.json else known.items():
        line(f"{public}  shown in entry {seq}{', here' if public == here else ''}")
    if trouble:
        talk(trouble)
    elif not here:
        talk("no key is here: certificates are not signed; `spinledger key new` makes one")
    elif here not in known:
        talk(f"{places.key}: a key that this record does not know: certificates are not written with it")
    return ExitCode.FINE if here in known else ExitCode.NEGATIVE

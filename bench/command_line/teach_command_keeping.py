"""What was learnt is shown with its reasons, named, saved, and put into the settings."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.settings_writing import keep
from bench.command_line.teach_command_talk import Talk
from bench.command_line.teach_wiring import profile_toml, write_profile
from bench.use_cases.errors import RefusedError
from drivers.teach_export import TaughtExport
from drivers.teach_states import Taught

if TYPE_CHECKING:
    from bench.command_line.places import Places

_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
_ROUNDS = 5


def told_why(taught: Taught | TaughtExport, talk: Talk) -> None:
    """Say what was learnt and why it is believed.

    Parameters
    ----------
    taught : Taught | TaughtExport
        What was learnt.
    talk : Talk
        Tells the person.
    """
    talk.say("Learnt, because:")
    for why in taught.why:
        talk.say(f"  - {why}")


def named(taught: Taught | TaughtExport, name: str) -> Taught | TaughtExport:
    """Return what was learnt under a name.

    Parameters
    ----------
    taught : Taught | TaughtExport
        What was learnt.
    name : str
        Small letters, digits and hyphens.

    Returns
    -------
    Taught | TaughtExport
        The same with its profile renamed.
    """
    if not _NAME.fullmatch(name):
        wanted = "small letters, digits and hyphens, for instance bench-scale"
        raise RefusedError("name", found=f"'{name}'", wanted=wanted)
    if isinstance(taught, Taught):
        return replace(taught, profile=taught.profile.model_copy(update={"name": name}))
    return replace(taught, profile=taught.profile.model_copy(update={"name": name}))


def keep_profile(
    taught: Taught | TaughtExport, places: Places, talk: Talk, *, name: str, address: str = "", folder: str = ""
) -> int:
    """Ask for a name, save, and offer to use it from now on.

    Parameters
    ----------
    taught : Taught | TaughtExport
        What was learnt.
    places : Places
        Where profiles and settings are.
    talk : Talk
        Asks the person.
    name : str
        Name that was given; empty to ask.
    address : str
        The scale's address; empty for a balancing machine.
    folder : str
        The balancing machine's folder; empty when there is none.

    Returns
    -------
    int
        Exit code.
    """
    scale = isinstance(taught, Taught)
    usual = "bench-scale" if scale else "balancing-machine"
    for _ in range(_ROUNDS):
        wished = name or talk.ask("A name for this profile:", default=usual)
        try:
            path = write_profile(named(taught, wished), places)
        except RefusedError as fault:
            talk.say(f"{fault}")
            name = ""
            continue
        talk.say(f"Saved in {path}")
        changes: dict[tuple[str, ...], str | None] = {("scale" if scale else "balancer", "profile"): wished}
        changes |= {("scale", "url"): address} if address else {}
        changes |= {("balancer", "folder"): folder} if folder else {}
        what = "scale" if scale else "balancing machine"
        if talk.yes(f"Use it as this bench's {what} from now on?"):
            keep(places.settings, changes)
            talk.say(f"Kept in {places.settings}. Next: spinledger {'weigh' if scale else 'spin'} JOB")
        return ExitCode.FINE
    talk.say("Nothing was saved.")
    return ExitCode.INPUT_REFUSED


def profile_text(taught: Taught | TaughtExport) -> str:
    """Return the TOML of what was learnt.

    Parameters
    ----------
    taught : Taught | TaughtExport
        What was learnt.

    Returns
    -------
    str
        As it would be saved.
    """
    return profile_toml(taught.profile)

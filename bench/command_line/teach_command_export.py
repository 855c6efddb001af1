"""Teaching a balancing machine's text by talk: a text, the numbers on the machine, and what its angle means."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.instrument_wiring import read_text_file
from bench.command_line.teach_command_keeping import keep_profile, told_why
from bench.command_line.teach_command_talk import Talk
from bench.command_line.teach_wiring import teach_an_export
from drivers.contract import SpinReading
from drivers.teach_export import ExportNeedsMore, ShownPlane, TaughtExport, reader_of

if TYPE_CHECKING:
    from bench.command_line.places import Places

_ROUNDS = 5


def teach_text_by_talk(places: Places, *, path: Path | None, name: str) -> int:
    """Lead a person from an unknown text to a saved profile.

    Parameters
    ----------
    places : Places
        Where profiles and settings are.
    path : Path | None
        A text of the machine; None to ask.
    name : str
        Name of the profile; empty to ask.

    Returns
    -------
    int
        Exit code.
    """
    talk = Talk()
    talk.say("Teaching a balancing machine's text. Every answer is one line; 'quit' leaves and saves nothing.")
    path = path or Path(talk.ask("A file that the machine has written:")).expanduser()
    for _ in range(_ROUNDS):
        data = read_text_file(path).data
        shown = _planes(talk)
        unit = talk.choose("In which unit are the amounts?", ("g", "g mm", "oz in"), default="g")
        verdict = teach_an_export(data, shown, angle=_angle(talk), unit=unit, name=name or "taught")
        if isinstance(verdict, TaughtExport):
            return _shown(verdict, data, places, talk, name=name, path=path)
        if isinstance(verdict, ExportNeedsMore):
            talk.say(f"One thing more: {verdict.ask}.")
        else:
            talk.say(f"Not understood: found {verdict.found}; wanted {verdict.wanted}. {verdict.do}.")
        path = Path(talk.ask("Again with which file?", default=str(path))).expanduser()
    talk.say("Nothing was saved.")
    return ExitCode.INPUT_REFUSED


def _planes(talk: Talk) -> list[ShownPlane]:
    talk.say("Look at one run of this text on the machine itself, and type what it shows, with all decimals.")
    planes = [ShownPlane("front", talk.ask("Front plane, amount:"), talk.ask("Front plane, angle:"))]
    rear = talk.ask("Rear plane, amount (Enter alone if the machine has one plane):")
    if rear:
        planes.append(ShownPlane("rear", rear, talk.ask("Rear plane, angle:")))
    return planes


def _angle(talk: Talk) -> dict[str, object]:
    """Ask what the machine means by an angle: no text tells it, and a wrong guess doubles the unbalance."""
    talk.say("What the angle means stands in no text. A trial weight at a known place shows it; never guess.")
    zero = talk.ask("Where is the machine's zero, counter-clockwise from the bench's, seen from the front, in degrees?")
    sense = talk.choose("Which way does its angle grow?", ("counter-clockwise", "clockwise"))
    seen_from = talk.choose("Seen from which end?", ("front", "rear"), default="front")
    shows = talk.choose("Does it show where mass is in excess, or where it is missing?", ("excess", "missing"))
    scale = talk.choose(
        "Is the angle printed in degrees or in hours of a clock?", ("degrees", "clock hours"), default="degrees"
    )
    plain = zero.replace(",", ".")
    return {"zero_deg": plain, "sense": sense, "seen_from": seen_from, "shows": shows, "scale": scale}


def _shown(taught: TaughtExport, data: bytes, places: Places, talk: Talk, *, name: str, path: Path) -> int:
    told_why(taught, talk)
    for line in runs_in_words(taught, data):
        talk.say(f"  {line}")
    if not talk.yes("Is every run read as the machine showed it?"):
        talk.say("Nothing was saved.")
        return ExitCode.INPUT_REFUSED
    return keep_profile(taught, places, talk, name=name, folder=str(path.resolve().parent))


def runs_in_words(taught: TaughtExport, data: bytes) -> list[str]:
    """Return what a learnt profile reads in a text.

    Parameters
    ----------
    taught : TaughtExport
        What was learnt.
    data : bytes
        The text.

    Returns
    -------
    list[str]
        A sentence a run.
    """
    words: list[str] = []
    for run in reader_of(taught.profile).read(data):
        if isinstance(run, SpinReading):
            planes = "; ".join(
                f"{p.plane} {p.amount} {run.unit}, heavy at {p.heavy_angle_deg:.1f}°" for p in run.planes
            )
            words.append(f"run {run.label}: {planes}" if run.label else planes)
    return words

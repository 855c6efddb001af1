"""What a person says about spinning beside the runs: set turned, known mass, what is mounted, the next rotor."""

from __future__ import annotations

from collections.abc import Callable

from bench.models.rotor_set import rotor_name
from bench.trail.words import event_in_words
from bench.use_cases.aside_runs import Found, check_machine, mark_index_run
from bench.use_cases.commands import BeginRotor, CheckMachine, EnterParts, MarkIndexRun, MountParts
from bench.use_cases.keep_profile import KEEP, LEAVE, ProfileOffer, Profiles, kept_words, offer_profile
from bench.use_cases.mount_parts import enter_parts, mount_parts, mounted_now_words, parts_words
from bench.use_cases.next_rotor import begin_rotor
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Question, Tone

Told = MarkIndexRun | CheckMachine | EnterParts | MountParts | BeginRotor


def told_at_the_spin(scribe: Scribe, command: Told, *, instrument: str) -> Found:
    """Do what a person said.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    command : Told
        What was said.
    instrument : str
        The balancing machine.

    Returns
    -------
    Found
        As recorded, and what it means.
    """
    match command:
        case MarkIndexRun(turned_deg=turned):
            return mark_index_run(scribe, turned_deg=turned)
        case CheckMachine(plane=plane, mass_g=mass, at_deg=at):
            return check_machine(scribe, plane=plane, mass_g=mass, at_deg=at, instrument=instrument)
        case EnterParts(parts=parts, reason=reason):
            event = enter_parts(scribe, parts, reason=reason)
            words = "; ".join(parts_words(scribe.state)) if scribe.state is not None else ""
            return Found(event, f"on the crank while it is spun: {words or 'nothing, balanced internally'}")
        case MountParts(mounted=mounted, last_run=last_run, reason=reason):
            event = mount_parts(scribe, mounted, last_run=last_run, reason=reason)[-1]
            return Found(event, mounted_now_words(scribe.state) if scribe.state is not None else "")
        case BeginRotor(rotor=rotor, words=words):
            before = rotor_name(scribe.state) if scribe.state is not None else ""
            event = begin_rotor(scribe, rotor, words=words)
            return Found(event, f"{event_in_words(event)}; {before} is frozen")


class SpinCorner:
    """The desk's part that hears what is said at the balancing machine.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    profiles : Profiles
        Where the machine's profile is kept.
    instrument : str
        How the machine is called in the record.
    """

    def __init__(self, scribe: Scribe, profiles: Profiles, *, instrument: str) -> None:
        self._scribe = scribe
        self._profiles = profiles
        self._offer: ProfileOffer | None = None
        self.instrument = instrument

    @property
    def question(self) -> Question | None:
        """Whether a profile shall be kept; None when nothing is asked."""
        return self._offer.question if self._offer is not None else None

    def hear(self, command: Told) -> str:
        """Do what a person said.

        Parameters
        ----------
        command : Told
            What was said.

        Returns
        -------
        str
            What came of it.
        """
        found = told_at_the_spin(self._scribe, command, instrument=self.instrument)
        self._offer = offer_profile(self._profiles, found.check, command, day=found.event.utc[:10])
        return f"{found.words} (entry {found.event.seq})"

    def forget(self) -> None:
        """Ask no more: another job is open."""
        self._offer = None

    def answered(self, choice: str, say: Callable[[str, Tone, str], None]) -> bool:
        """Take the answer about the profile.

        Parameters
        ----------
        choice : str
            Its key.
        say : Callable[[str, Tone, str], None]
            Takes what came of it.

        Returns
        -------
        bool
            False when the answer is to another question.
        """
        offer = self._offer
        if offer is None or choice not in {KEEP, LEAVE}:
            return False
        if choice == LEAVE:
            self._offer = None
            say("the profile stays as it is", Tone.NONE, "info")
            return True
        kept = offer.keep()
        self._offer = None
        self.instrument = kept.instrument
        say(kept_words(kept), Tone.ACCEPT, "good")
        return True

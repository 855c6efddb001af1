"""After a check with a known mass: the balancing machine's profile, put right, is offered to be kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from bench.computation.angle_check import AngleCheck
from bench.use_cases.commands import CheckMachine
from bench.use_cases.view import Question

KEEP, LEAVE = "keep-profile", "leave-profile"
AGREES_WITHIN_DEG = 10.0


@dataclass(frozen=True, slots=True)
class KeptProfile:
    """A profile that was saved and is read with.

    Attributes
    ----------
    name : str
        What it is called.
    path : str
        Where it is.
    instrument : str
        How the machine is called in the record from now on.
    """

    name: str
    path: str
    instrument: str


class Profiles(Protocol):
    """Where profiles of balancing machines are kept."""

    def next_name(self) -> str:
        """Return a free name for the present profile, put right; empty where none can be kept."""
        ...

    def keep_checked(self, check: AngleCheck, told: CheckMachine, *, day: str, name: str) -> KeptProfile:
        """Save the profile as the check showed it, and read with it from now on."""
        ...


class NoProfiles:
    """Nothing can be kept."""

    def next_name(self) -> str:
        """Return that there is no name.

        Returns
        -------
        str
            Empty.
        """
        return ""

    def keep_checked(self, check: AngleCheck, told: CheckMachine, *, day: str, name: str) -> KeptProfile:
        """Refuse.

        Parameters
        ----------
        check : AngleCheck
            What was found.
        told : CheckMachine
            How it was checked.
        day : str
            When.
        name : str
            Of the profile.

        Returns
        -------
        KeptProfile
            Never.

        Raises
        ------
        LookupError
            Always.
        """
        del check, told, day
        raise LookupError(name)


def can_be_put_right(check: AngleCheck) -> bool:
    """Tell whether a profile can hold what a check found wrong.

    Parameters
    ----------
    check : AngleCheck
        The check.

    Returns
    -------
    bool
        True for sense, zero and exchanged planes; amounts are the unit's or the machine's.
    """
    turned = abs(check.turned_by_deg) > AGREES_WITHIN_DEG
    return check.clear and (check.mirrored or check.planes_swapped or turned)


@dataclass(frozen=True, slots=True)
class ProfileOffer:
    """A profile that waits for a yes.

    Attributes
    ----------
    question : Question
        What is asked.
    keep : Callable[[], KeptProfile]
        Saves it.
    """

    question: Question
    keep: Callable[[], KeptProfile]


def offer_profile(profiles: Profiles, check: AngleCheck | None, told: object, *, day: str) -> ProfileOffer | None:
    """Return the question whether the profile shall be kept as the check showed it.

    Parameters
    ----------
    profiles : Profiles
        Where it would be kept.
    check : AngleCheck | None
        What was found; None for anything but a check.
    told : object
        The command that asked for the check.
    day : str
        When, as written into the profile.

    Returns
    -------
    ProfileOffer | None
        None when there is nothing to put right, or nowhere to keep it.
    """
    if check is None or not isinstance(told, CheckMachine) or not can_be_put_right(check):
        return None
    name = profiles.next_name()
    if not name:
        return None
    return ProfileOffer(
        Question(
            f"Keep the profile, put right, as {name}?",
            ((KEEP, "keep it and read with it"), (LEAVE, "leave it as it is")),
        ),
        lambda: profiles.keep_checked(check, told, day=day, name=name),
    )


def kept_words(kept: KeptProfile) -> str:
    """Return what was kept and what to do with runs that were read otherwise.

    Parameters
    ----------
    kept : KeptProfile
        The profile.

    Returns
    -------
    str
        Two sentences.
    """
    return (
        f"read with profile {kept.name} from now on; take back the runs made before (Page Up) and spin again. "
        f"It is kept in {kept.path}"
    )

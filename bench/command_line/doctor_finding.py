"""One line of the health check."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class How(StrEnum):
    """How something is."""

    FINE = "fine"
    LOOK = "look"
    """Worth a look; the work can go on."""
    FAULT = "fault"
    """Something can be lost, or something will not work."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What was looked at and how it is.

    Attributes
    ----------
    id : str
        Stays the same from version to version, for scripts and tests: "record-damaged".
    area : str
        "record", "disk", "backup", "clock", "terminal", "sound", "instruments", "drivers" or "program".
    how : How
        Fine, look or fault.
    words : str
        What was found.
    remedy : str
        One next step; empty when all is fine.
    """

    id: str
    area: str
    how: How
    words: str
    remedy: str = ""


def fine(id_: str, area: str, words: str) -> Finding:
    """Return a finding that all is well.

    Parameters
    ----------
    id_ : str
        Its name.
    area : str
        Where.
    words : str
        What was found.

    Returns
    -------
    Finding
        Without a remedy.
    """
    return Finding(id_, area, How.FINE, words)


def look(id_: str, area: str, words: str, remedy: str) -> Finding:
    """Return a finding that is worth a look.

    Parameters
    ----------
    id_ : str
        Its name.
    area : str
        Where.
    words : str
        What was found.
    remedy : str
        The next step.

    Returns
    -------
    Finding
        The work can go on.
    """
    return Finding(id_, area, How.LOOK, words, remedy)


def fault(id_: str, area: str, words: str, remedy: str) -> Finding:
    """Return a finding that must not stay.

    Parameters
    ----------
    id_ : str
        Its name.
    area : str
        Where.
    words : str
        What was found.
    remedy : str
        The next step.

    Returns
    -------
    Finding
        Something can be lost, or will not work.
    """
    return Finding(id_, area, How.FAULT, words, remedy)

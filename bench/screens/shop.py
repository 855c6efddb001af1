"""What the dashboard may ask of the computer it runs on: ports, settings, files. It knows a protocol, never a port."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import Protocol

from bench.use_cases.bring_in import Sheet
from bench.use_cases.job_templates import JobTemplate


class Wish(StrEnum):
    """Why the dashboard ends: what shall come next."""

    LEAVE = "leave"
    SIMULATE = "simulate"
    TOUR = "tour"
    AGAIN = "again"
    """Start again with the settings as they are now."""


@dataclass(frozen=True, slots=True)
class PortLine:
    """A place a scale could be at."""

    url: str
    words: str


@dataclass(frozen=True, slots=True)
class HeardNow:
    """What a port gives at this moment.

    Attributes
    ----------
    words : str
        One sentence: what is being done, or what is wrong and what to do.
    lines : tuple[str, ...]
        The newest lines as they came, fit to show.
    setting : str
        Speed, parity and bits in words.
    shown : str
        The number that was read, with its unit; empty when none was.
    profile : str
        What it was read with.
    ready : bool
        The number can be compared with the display and kept.
    """

    words: str
    lines: tuple[str, ...] = ()
    setting: str = ""
    shown: str = ""
    profile: str = ""
    ready: bool = False


class Hearing(Protocol):
    """Somebody who listens at a port."""

    def now(self) -> HeardNow:
        """Tell what was heard so far."""
        ...

    def keep(self) -> str:
        """Keep port and profile in the settings; what is wrong otherwise, empty when nothing is."""
        ...

    def stop(self) -> None:
        """Leave the port."""
        ...


@dataclass(frozen=True, slots=True)
class IntakeStart:
    """What the form of a new job begins with.

    Attributes
    ----------
    oil_g, radius_mm : float or None
        None where the shop has no usual value. [g], [mm]
    shop_limit_g, bobweight_g, spin_uncertainty_g : float
        As the settings have them. [g]
    imperial : bool
        A number without a unit is in ounces and inches.
    """

    oil_g: float | None = None
    radius_mm: float | None = None
    shop_limit_g: float = 1.0
    bobweight_g: float = 0.1
    spin_uncertainty_g: float = 0.2
    imperial: bool = False


class Shop(Protocol):
    """The computer in the corner."""

    @property
    def intake(self) -> IntakeStart:
        """What a new job's form begins with."""
        ...

    @property
    def columns(self) -> Mapping[str, str]:
        """Column heads that were told to mean a part."""
        ...

    @property
    def names(self) -> Sequence[str]:
        """Initials of those who work at this bench."""
        ...

    def templates(self) -> Sequence[JobTemplate]:
        """Return the shop's templates, by name."""
        ...

    def keep_template(self, template: JobTemplate, *, replace: bool) -> str:
        """Keep a template; what is wrong otherwise, empty when nothing is."""
        ...

    def ports(self) -> Sequence[PortLine]:
        """Return the ports there are now."""
        ...

    def hear(self, url: str) -> Hearing:
        """Begin to listen at a port."""
        ...

    def keep(self, changes: Mapping[tuple[str, ...], str]) -> str:
        """Keep settings; what is wrong otherwise, empty when nothing is."""
        ...

    def read_sheet(self, path: Path) -> Sheet:
        """Read a sheet of weights."""
        ...


@dataclass(frozen=True, slots=True)
class BareShop:
    """No computer behind the dashboard: nothing can be kept, no port is there."""

    intake: IntakeStart = field(default_factory=IntakeStart)
    columns: Mapping[str, str] = field(default_factory=dict[str, str])
    names: Sequence[str] = ()

    def templates(self) -> Sequence[JobTemplate]:
        """Return no template.

        Returns
        -------
        Sequence[JobTemplate]
            Empty.
        """
        return ()

    def keep_template(self, template: JobTemplate, *, replace: bool) -> str:
        """Keep nothing.

        Parameters
        ----------
        template : JobTemplate
            What would be kept.
        replace : bool
            Whether one of that name would give way.

        Returns
        -------
        str
            Why not.
        """
        del replace
        return f"template '{template.name}' is not kept: no computer is there to keep it"

    def ports(self) -> Sequence[PortLine]:
        """Return no port.

        Returns
        -------
        Sequence[PortLine]
            Empty.
        """
        return ()

    def hear(self, url: str) -> Hearing:
        """Refuse.

        Parameters
        ----------
        url : str
            A port.

        Returns
        -------
        Hearing
            Never.

        Raises
        ------
        LookupError
            Always: no port can be opened here.
        """
        raise LookupError(url)

    def keep(self, changes: Mapping[tuple[str, ...], str]) -> str:
        """Keep nothing.

        Parameters
        ----------
        changes : Mapping[tuple[str, ...], str]
            What would be kept.

        Returns
        -------
        str
            Why not.
        """
        return f"not kept: {len(changes)} settings count until the program ends"

    def read_sheet(self, path: Path) -> Sheet:
        """Refuse.

        Parameters
        ----------
        path : Path
            A file.

        Returns
        -------
        Sheet
            Never.

        Raises
        ------
        LookupError
            Always: no file can be read here.
        """
        raise LookupError(str(path))

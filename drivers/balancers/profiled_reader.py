"""What readers of a balancing machine's text have in common: the profile they are made from."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from typing import Self

from drivers.balancers.balancer_profile import BalancerProfile
from drivers.balancers.row_runs import Row, RunCollector
from drivers.balancers.text_lines import TextLine, export_lines
from drivers.contract import ExportFault, SpinReading
from drivers.profile import ProfileError


class ProfiledReader(ABC):
    """Reads texts as a profile says.

    Parameters
    ----------
    profile : BalancerProfile
        What the text means.
    """

    def __init__(self, profile: BalancerProfile) -> None:
        self._profile = profile

    @classmethod
    def from_profile(cls, profile: BalancerProfile) -> Self:
        """Make the reader, as the registry does.

        Parameters
        ----------
        profile : BalancerProfile
            What the text means.

        Returns
        -------
        Self
            A reader.
        """
        return cls(profile)

    @property
    def profile_name(self) -> str:
        """Name of the profile this reader was made from."""
        return self._profile.name

    def read(self, data: bytes) -> list[SpinReading | ExportFault]:
        """Read a whole text.

        Parameters
        ----------
        data : bytes
            The whole file or capture.

        Returns
        -------
        list[SpinReading | ExportFault]
            The runs in the order they stand, or a single fault: a text is taken whole or not at all.
        """
        lines = export_lines(data, self._profile.encoding)
        if isinstance(lines, ExportFault):
            return [lines]
        return self._runs(lines)

    @abstractmethod
    def _runs(self, lines: list[TextLine]) -> list[SpinReading | ExportFault]:
        """Return the runs of a text's lines, or a single fault."""


class RowsReader(ProfiledReader):
    """Reads texts whose runs stand in rows."""

    def _runs(self, lines: list[TextLine]) -> list[SpinReading | ExportFault]:
        return RunCollector(self._profile).collect(self._rows(lines))

    @abstractmethod
    def _rows(self, lines: list[TextLine]) -> Iterator[Row | ExportFault]:
        """Return each row's fields by name, or the fault that ends it."""


def missing(profile: BalancerProfile, field: str, wanted: str) -> ProfileError:
    """Return what to raise when a profile lacks the part a reader needs.

    Parameters
    ----------
    profile : BalancerProfile
        The profile.
    field : str
        The part.
    wanted : str
        What should stand there.

    Returns
    -------
    ProfileError
        With what was found and wanted.
    """
    return ProfileError(where=profile.name, field=field, found="nothing", wanted=wanted)

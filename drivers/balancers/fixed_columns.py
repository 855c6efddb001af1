"""Reads a text whose rows have their fields in fixed columns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Self

from drivers.balancers.balancer_profile import BalancerProfile
from drivers.balancers.row_profile import FixedColumns
from drivers.balancers.row_runs import Row, RunCollector
from drivers.balancers.text_lines import TextLine, export_lines
from drivers.contract import ExportFault, SpinReading
from drivers.profile import ProfileError
from drivers.showing import shown_text


class FixedColumnsReader:
    """Reads rows of fixed columns.

    What stands outside of every field's columns must be blanks, or the row is refused: a figure that has grown out of
    its columns would be cut otherwise.

    Parameters
    ----------
    profile : BalancerProfile
        What the text means; it must have columns.

    Raises
    ------
    ProfileError
        If the profile has no columns.
    """

    def __init__(self, profile: BalancerProfile) -> None:
        if profile.columns is None:
            wanted = "a [columns] with fields"
            raise ProfileError(where=profile.name, field="columns", found="nothing", wanted=wanted)
        self._profile = profile
        self._columns: FixedColumns = profile.columns

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
        return RunCollector(self._profile).collect(self._rows(lines))

    def _rows(self, lines: list[TextLine]) -> Iterator[Row | ExportFault]:
        for line in lines[self._columns.skip_lines :]:
            text = line.text.rstrip(" \x0c\x1a")
            if not text or text.startswith(self._columns.skip or "\x00"):
                continue
            rest = list(text)
            fields: dict[str, str] = {}
            for name, (first, last) in self._columns.fields.items():
                fields[name] = text[first - 1 : last]
                rest[first - 1 : last] = " " * len(rest[first - 1 : last])
            outside = "".join(rest).strip()
            if outside:
                wanted = "blanks outside of the profile's columns"
                do = "check the columns of the profile against the machine's text"
                yield ExportFault(line.number, f"{shown_text(outside)} between the columns", wanted, do)
                return
            yield line, fields

"""Reads a text whose rows have their fields in fixed columns."""

from __future__ import annotations

from collections.abc import Iterator

from drivers.balancers.balancer_profile import BalancerProfile
from drivers.balancers.profiled_reader import RowsReader, missing
from drivers.balancers.row_profile import FixedColumns
from drivers.balancers.row_runs import Row
from drivers.balancers.text_lines import TextLine
from drivers.contract import ExportFault
from drivers.showing import shown_text


class FixedColumnsReader(RowsReader):
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
        super().__init__(profile)
        if profile.columns is None:
            raise missing(profile, "columns", "a [columns] with fields")
        self._columns: FixedColumns = profile.columns

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

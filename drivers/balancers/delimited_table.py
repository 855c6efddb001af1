"""Reads a text that is a table with a delimiter and headings."""

from __future__ import annotations

import csv
from collections.abc import Iterator

from drivers.balancers.balancer_profile import BalancerProfile
from drivers.balancers.profiled_reader import RowsReader, missing
from drivers.balancers.row_profile import Table
from drivers.balancers.row_runs import Row
from drivers.balancers.text_lines import TextLine
from drivers.contract import ExportFault
from drivers.showing import shown_text


class DelimitedTableReader(RowsReader):
    """Reads tables.

    Parameters
    ----------
    profile : BalancerProfile
        What the text means; it must have a table.

    Raises
    ------
    ProfileError
        If the profile has no table.
    """

    def __init__(self, profile: BalancerProfile) -> None:
        super().__init__(profile)
        if profile.table is None:
            raise missing(profile, "table", "a [table] with delimiter and columns")
        self._table: Table = profile.table

    def _rows(self, lines: list[TextLine]) -> Iterator[Row | ExportFault]:
        places: dict[str, int] | None = None
        width = 0
        for line in lines[self._table.heading_line - 1 :]:
            if not line.text.strip(" \t\x0c\x1a") or line.text.startswith(self._table.skip or "\x00"):
                continue
            cells = self._cells(line)
            if isinstance(cells, ExportFault):
                yield cells
                return
            if places is None:
                found = self._headings(line, cells)
                if isinstance(found, ExportFault):
                    yield found
                    return
                places, width = found, len(cells)
                continue
            if len(cells) != width:
                do = "check that the file is whole and that no cell holds the delimiter"
                yield ExportFault(line.number, f"{len(cells)} cells", f"{width} cells, as in the headings", do)
                return
            yield line, {name: cells[at] for name, at in places.items()}

    def _cells(self, line: TextLine) -> list[str] | ExportFault:
        try:
            cells = next(csv.reader([line.text], delimiter=self._table.delimiter, strict=True))
        except (csv.Error, StopIteration) as error:
            do = "save the file again; nothing of it was taken"
            return ExportFault(line.number, f"{shown_text(line.text)}: {error}", "a row of a table", do)
        return [cell.strip() for cell in cells]

    def _headings(self, line: TextLine, cells: list[str]) -> dict[str, int] | ExportFault:
        """Find each field's column by its heading, wherever it stands."""
        places: dict[str, int] = {}
        for name, heading in self._table.columns.items():
            count = cells.count(heading)
            if count != 1:
                found = f"no heading {heading!r}" if not count else f"the heading {heading!r} {count} times"
                shown = shown_text(self._table.delimiter.join(cells))
                do = "choose the machine's own profile, or set the headings in it"
                return ExportFault(line.number, f"{found} in {shown}", f"{heading!r} once", do)
            places[name] = cells.index(heading)
        return places

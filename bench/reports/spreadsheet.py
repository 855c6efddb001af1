"""Tables as a workbook in which text is text and numbers are numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from io import BytesIO

from bench.reports.tables import Table, Value
from bench.reports.visible_text import visible


def spreadsheet(tables: Sequence[Table], *, written: datetime) -> bytes:
    """Return a workbook with a sheet a table.

    Parameters
    ----------
    tables : Sequence[Table]
        One sheet each.
    written : datetime
        Moment of writing, for the file's own notes.

    Returns
    -------
    bytes
        An Office Open XML workbook without a single formula.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook(write_only=False)
    book.properties.creator = "spinledger"
    book.properties.created = written.replace(tzinfo=None)
    first = book.active
    if first is not None:
        book.remove(first)
    for table in tables:
        sheet = book.create_sheet(table.name[:31])
        for r, line in enumerate((table.headings, *table.rows), start=1):
            for c, value in enumerate(line, start=1):
                cell = sheet.cell(row=r, column=c)
                cell.value, is_text = _cell(value)
                if is_text:
                    cell.data_type = "s"  # the library takes a leading "=" for a formula and "#N/A" for a fault
                    cell.style = "Normal"
                    cell.quotePrefix = True  # the same after someone edits the cell
                if r == 1:
                    cell.font = Font(bold=True)
        for c, heading in enumerate(table.headings, start=1):
            sheet.column_dimensions[get_column_letter(c)].width = max(10, min(len(heading) + 4, 30))
        sheet.freeze_panes = "A2"
    held = BytesIO()
    book.save(held)
    return held.getvalue()


def _cell(value: Value) -> tuple[Value, bool]:
    if value is None:
        return None, False
    if isinstance(value, str):
        return visible(value), True
    return (value, False) if math.isfinite(value) else ("not a number", True)

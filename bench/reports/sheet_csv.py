"""Tables as CSV that no spreadsheet takes for formulas."""

from __future__ import annotations

import math
import re
from decimal import Decimal

from bench.reports.tables import Table, Value
from bench.reports.visible_text import visible

# A formula sign at the start, or where a program that splits at another separator would see a start.
_STARTS = re.compile(r"""(^|[,;|"'\n])(\s*)(?=[=+\-@＝＋－＠−])""")


def inert(text: str) -> str:
    """Return text that no spreadsheet takes for a formula, wherever it splits the line.

    Parameters
    ----------
    text : str
        From a person, a file or an instrument.

    Returns
    -------
    str
        On one line, with an apostrophe before whatever could begin a formula.

    Examples
    --------
    >>> inert("=1+1"), inert("a;@SUM(A1)"), inert("rod 3")
    ("'=1+1", "a;'@SUM(A1)", 'rod 3')
    """
    return _STARTS.sub(r"\1'\2", visible(text))


def _field(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return '"' + inert(value).replace('"', '""') + '"'
    if not math.isfinite(value):
        return '"not a number"'
    return format(value, "f") if isinstance(value, Decimal) else repr(value)


def sheet_csv(table: Table) -> str:
    r"""Return a table as CSV (RFC 4180): text quoted, numbers bare, lines ended with CR LF.

    Parameters
    ----------
    table : Table
        Headings and rows.

    Returns
    -------
    str
        To be written as UTF-8 with a byte order mark ("utf-8-sig"), so that spreadsheets read the letters.

    Examples
    --------
    >>> sheet_csv(Table("cuts", ("plane", "grams"), (("front", -12.3), ("=rear", None))))
    '"plane","grams"\r\n"front",-12.3\r\n"\'=rear",\r\n'
    """
    lines = (table.headings, *table.rows)
    return "".join(",".join(_field(value) for value in line) + "\r\n" for line in lines)

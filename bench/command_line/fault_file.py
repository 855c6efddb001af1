"""What is written down about a mistake of the program: where it happened, no customer, nothing a terminal obeys."""

from __future__ import annotations

import re
import sqlite3
import traceback
from contextlib import closing
from pathlib import Path

WITHHELD = "[name of a customer]"
SHORTEST = 2
COLUMNS = ("customer", "title")
"""What tells whose engine it is."""


def fault_text(fault: BaseException, record: Path) -> str:
    """Return a fault as text that may be sent to who keeps the program.

    Parameters
    ----------
    fault : BaseException
        What was raised.
    record : Path
        The bench's record, asked for the names that are to be withheld.

    Returns
    -------
    str
        Frames and words; where the record cannot be asked, the faults' own words are left out altogether.
    """
    from bench.command_line.say import printable

    names = names_of(record)
    if names is None:
        lines = ["What the faults say is left out: the record could not be asked for the names it may hold.\n"]
        link: BaseException | None = fault
        seen: set[int] = set()
        while link is not None and id(link) not in seen:
            seen.add(id(link))
            lines += ["\n", *traceback.format_tb(link.__traceback__), f"{type(link).__name__}\n"]
            link = link.__cause__ or link.__context__
        text = "".join(lines)
    else:
        text = withheld("".join(traceback.format_exception(fault)), names)
    return "".join(f"{printable(line)}\n" for line in text.splitlines())


def withheld(text: str, names: set[str], *, mark: str = WITHHELD) -> str:
    """Return text without these names, however they are written.

    Parameters
    ----------
    text : str
        Anything.
    names : set[str]
        Customers, titles of jobs.
    mark : str
        What stands in a name's place.

    Returns
    -------
    str
        With a mark in each name's place.
    """
    low = text.casefold()
    # the longest first: a name within another one leaves no rest
    for name in sorted((one for one in names if len(one) >= SHORTEST), key=len, reverse=True):
        for written in {name, repr(name)[1:-1], name.encode("unicode_escape").decode("ascii")}:
            if written.casefold() in low:
                whole = rf"(?<!\w){re.escape(written)}(?!\w)"
                text = re.sub(whole, mark, text, flags=re.IGNORECASE)
    return text


def names_of(record: Path) -> set[str] | None:
    """Return the names a record holds that are to be withheld.

    Parameters
    ----------
    record : Path
        The bench's record.

    Returns
    -------
    set[str] | None
        Customers and titles of jobs; None where the record cannot be asked.
    """
    if not record.exists():
        return set()
    try:
        with closing(sqlite3.connect(f"{record.absolute().as_uri()}?mode=ro", uri=True, timeout=1.0)) as connection:
            found: set[str] = set()
            for column in COLUMNS:
                rows = connection.execute(f"SELECT DISTINCT {column} FROM job_lines")  # noqa: S608 our own names
                found |= {str(row[0]).strip() for row in rows}
    except (sqlite3.Error, ValueError):
        return None
    return found

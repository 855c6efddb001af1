"""The one line that a part's label holds and a scanner types."""

from __future__ import annotations

import re

from bench.models.job import Cell

PREFIX = "spinledger-part"
_LINE = re.compile(rf"{PREFIX}:1:([^:\s]{{1,40}}):(\d{{1,2}}):(.{{1,40}})", re.ASCII)


class PartCodeError(ValueError):
    """A scanned line names no part.

    Parameters
    ----------
    found : str
        What was scanned; kept cut to 80 characters.
    """

    def __init__(self, found: str) -> None:
        self.found = found[:80]
        super().__init__(f"scan: found {self.found!r}, wanted {PREFIX}:1:JOB:PLACE:KIND; scan a label of this program")


def part_code(*, job: str, cell: Cell) -> str:
    """Return the one line a part's label holds.

    Parameters
    ----------
    job : str
        Job number.
    cell : Cell
        Place on the weight sheet.

    Returns
    -------
    str
        What a scanner types, without a line end.

    Examples
    --------
    >>> part_code(job="2026-0001", cell=Cell(kind="piston", place=3))
    'spinledger-part:1:2026-0001:3:piston'
    """
    return f"{PREFIX}:1:{job}:{cell.place}:{cell.kind}"


def parse_part_code(line: str) -> tuple[str, Cell]:
    """Return the job and the cell a scanned label names.

    Parameters
    ----------
    line : str
        As the scanner typed it.

    Returns
    -------
    tuple[str, Cell]
        Job number and cell.

    Raises
    ------
    PartCodeError
        When it is no such label.
    """
    match = _LINE.fullmatch(line.strip())
    if match is None or not 1 <= int(match[2]) <= 64:
        raise PartCodeError(line)
    return match[1], Cell(kind=match[3], place=int(match[2]))

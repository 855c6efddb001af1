"""Labels for parts and trays: words large enough to read at arm's length, and a code that names the cell."""

from __future__ import annotations

import re
from dataclasses import dataclass

from markupsafe import Markup

from bench.models.job import Cell, JobSpec, cells_in_order
from bench.reports.checkpoint_code import code_picture
from bench.reports.pages import page

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


@dataclass(frozen=True, slots=True)
class PartLabel:
    """One label."""

    head: str
    label: str
    where: str
    code: Markup


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


def part_labels(*, number: str, spec: JobSpec) -> str:
    """Return a page of labels to cut, one for each cell of the weight sheet.

    Parameters
    ----------
    number : str
        Job number.
    spec : JobSpec
        The job.

    Returns
    -------
    str
        A whole HTML document without scripts or outside requests; 24 labels a page on A4 and on Letter.
    """
    labels: list[PartLabel] = []
    for cell in cells_in_order(spec):
        kind = spec.kind(cell.kind)
        code = code_picture(part_code(job=number, cell=cell), title="the part, to be scanned")
        labels.append(PartLabel(number, kind.label, f"{kind.per} {cell.place}", code))
    return page("part_labels.html.j2", number=number, spec=spec, labels=labels)

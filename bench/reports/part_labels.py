"""Labels for parts and trays: words large enough to read at arm's length, and a code that names the cell."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from bench.models.job import JobSpec, cells_in_order
from bench.reports.checkpoint_code import code_picture
from bench.reports.pages import page
from bench.use_cases.part_code import part_code


@dataclass(frozen=True, slots=True)
class PartLabel:
    """One label."""

    head: str
    label: str
    where: str
    code: Markup


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

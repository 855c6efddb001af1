"""A form to print for a day without power: the same sheet, empty, to be typed in later."""

from __future__ import annotations

from dataclasses import dataclass

from bench.models.job import JobSpec
from bench.reports.figures import figure
from bench.reports.pages import page
from bench.use_cases.cautions import BEFORE_DRILLING, BEFORE_SPIN

WIDEST = 8
RUN_LINES = 6
CUT_LINES = 8


@dataclass(frozen=True, slots=True)
class EmptySheet:
    """Columns and rows to write into.

    Attributes
    ----------
    rows : tuple[tuple[str, str, str], ...]
        Label, allowed spread and hint of each kind.
    """

    head: str
    places: tuple[int, ...]
    rows: tuple[tuple[str, str, str], ...]


def paper_form(*, number: str, spec: JobSpec, app_version: str) -> str:
    """Return an empty form of a job: weights, bobweights, runs and cuts.

    Parameters
    ----------
    number : str
        Job number; empty for a form that is filled in before the job is opened.
    spec : JobSpec
        The job.
    app_version : str
        Version of the program.

    Returns
    -------
    str
        A whole HTML document without scripts or outside requests.
    """
    sheets: list[EmptySheet] = []
    for head in ("cylinder", "throw"):
        kinds = [kind for kind in spec.kinds if kind.per == head]
        places = spec.layout.cylinders if head == "cylinder" else tuple(t.number for t in spec.layout.throws)
        if kinds:
            rows = tuple((kind.label, figure(kind.limit_g, 1), kind.hint) for kind in kinds)
            sheets.extend(
                EmptySheet(head, places[start : start + WIDEST], rows) for start in range(0, len(places), WIDEST)
            )
    return page(
        "paper_form.html.j2",
        number=number,
        spec=spec,
        sheets=sheets,
        before_spin=BEFORE_SPIN,
        before_drilling=BEFORE_DRILLING,
        run_lines=RUN_LINES,
        cut_lines=CUT_LINES,
        app_version=app_version,
    )

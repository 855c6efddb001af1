"""Leave a cell for later."""

from __future__ import annotations

from bench.models.job import Cell
from bench.trail.events import CellSkipped, Event
from bench.use_cases.scribe import Scribe


def skip_cell(scribe: Scribe, cell: Cell) -> Event:
    """Record that a cell is left for later; it is asked for again when all others are done.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    cell : Cell
        Which part.

    Returns
    -------
    Event
        As recorded.
    """
    return scribe.record([CellSkipped(cell=cell)], how="typed")[0]

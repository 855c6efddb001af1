"""What the scale should see next, told to the weigh machine in its own words."""

from __future__ import annotations

from enum import StrEnum

from bench.capture.decisions import Expected, Member
from bench.models.job import Cell, JobSpec, PartRole, cells_in_order, label_of
from bench.models.job_state import JobState

LIGHT_KINDS_BELOW_G = 5.0


class Route(StrEnum):
    """In which order the cells are asked for."""

    BY_KIND = "kind"
    BY_CYLINDER = "cylinder"


def cells_on_route(spec: JobSpec, route: Route) -> tuple[Cell, ...]:
    """Return the sheet's cells in the order they are asked for.

    Parameters
    ----------
    spec : JobSpec
        The job.
    route : Route
        All of one kind after the other, or all parts of one cylinder after the other; what is weighed once a throw
        comes last.

    Returns
    -------
    tuple[Cell, ...]
        Every cell once.
    """
    cells = cells_in_order(spec)
    if route is Route.BY_KIND:
        return cells
    return tuple(sorted(cells, key=lambda cell: (spec.kind(cell.kind).per != "cylinder", cell.place)))


def next_open_cell(state: JobState, *, after: Cell | None = None, route: Route = Route.BY_KIND) -> Cell | None:
    """Return the next cell without a value, going round from a given one.

    Parameters
    ----------
    state : JobState
        The job.
    after : Cell | None
        Where the work was; None starts at the top.
    route : Route
        In which order.

    Returns
    -------
    Cell or None
        Skipped cells come last; None when every cell has a value.
    """
    cells = cells_on_route(state.spec, route)
    start = cells.index(after) + 1 if after in cells else 0
    order = cells[start:] + cells[:start]
    still_open = [cell for cell in order if cell not in state.weighed]
    return next((cell for cell in still_open if cell not in state.skipped), still_open[0] if still_open else None)


def expected_for_cell(state: JobState, cell: Cell) -> Expected:
    """Return what the machine needs to know about the part that is due.

    Parameters
    ----------
    state : JobState
        The job.
    cell : Cell
        The cell that is due.

    Returns
    -------
    Expected
        With everything weighed so far, except the cell itself.
    """
    kind = state.spec.kind(cell.kind)
    members = tuple(
        Member(kind=c.kind, place=c.place, grams=float(w.grams)) for c, w in state.weighed.items() if c != cell
    )
    own = [m.grams for m in members if m.kind == cell.kind]
    typical = kind.nominal_g if kind.nominal_g is not None else (own[0] if own else None)
    return Expected(
        key=str(cell),
        kind=cell.kind,
        label=label_of(state.spec, cell),
        nominal_g=kind.nominal_g,
        limit_g=kind.limit_g,
        members=members,
        nominals=tuple((k.name, k.nominal_g) for k in state.spec.kinds if k.nominal_g is not None),
        light=cell.kind == "locks" or (typical is not None and typical < LIGHT_KINDS_BELOW_G),
        swings=kind.role in {PartRole.ROD_SMALL_END, PartRole.ROD_BIG_END},
    )


def expected_for_bobweight(state: JobState, *, throw: int, target_g: float) -> Expected:
    """Return what the machine needs to know about a bobweight being made.

    Parameters
    ----------
    state : JobState
        The job.
    throw : int
        Throw number.
    target_g : float
        Weight it is brought to. [g]

    Returns
    -------
    Expected
        With target and band.
    """
    return Expected(
        key=f"bobweight {throw}",
        kind="bobweight",
        label=f"bobweight of throw {throw}",
        nominal_g=target_g,
        limit_g=None,
        target_g=target_g,
        band_g=state.spec.tolerance.bobweight_g,
    )

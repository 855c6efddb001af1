"""The bobweights, computed: one a throw from the parts that will really sit on it."""

from __future__ import annotations

from bench.computation.bobweight import PartUncertainty, RodParts, ThrowParts, bobweight
from bench.computation.errors import QuantityError
from bench.models.job import Cell, JobSpec, PartRole, Throw, label_of
from bench.models.job_state import JobState, Weighed
from bench.use_cases.view import SumLine, ThrowLine

BAND_SLACK_G = 0.051
"""The display's own rounding: a bobweight shown at its target's nearest division counts as on it. [g]"""


def _cells_of(spec: JobSpec, throw: Throw) -> list[Cell]:
    cells: list[Cell] = []
    for kind in spec.kinds:
        places = throw.cylinders if kind.per == "cylinder" else (throw.number,)
        cells.extend(Cell(kind=kind.name, place=place) for place in places)
    return cells


def _rod(state: JobState, cylinder: int) -> RodParts:
    def grams(kind: str) -> float | None:
        weighed = state.weighed.get(Cell(kind=kind, place=cylinder))
        return None if weighed is None else float(weighed.grams)

    names = {kind.name for kind in state.spec.kinds}
    whole = grams("rod_whole")
    return RodParts(
        piston_g=grams("piston") or 0.0,
        rings_g=grams("rings") or 0.0,
        pin_g=grams("pin") or 0.0,
        locks_g=grams("locks") or 0.0,
        rod_small_end_g=grams("rod_small_end") or 0.0,
        # with all three weighed the whole rod decides: it is hung from nothing
        rod_whole_g=whole,
        rod_big_end_g=None if "rod_whole" in names else grams("rod_big_end"),
        name=f"cylinder {cylinder}",
    )


def _uncertainty(state: JobState, cells: list[Cell]) -> PartUncertainty:
    worst: dict[str, float] = {}
    for cell in cells:
        weighed: Weighed | None = state.weighed.get(cell)
        if weighed is not None:
            worst[cell.kind] = max(worst.get(cell.kind, 0.0), weighed.standard_uncertainty_g)
    shells = [c for c in cells if c.kind == "rod_bearings"]
    return PartUncertainty(
        piston_g=worst.get("piston", 0.0),
        rings_g=worst.get("rings", 0.0),
        pin_g=worst.get("pin", 0.0),
        locks_g=worst.get("locks", 0.0),
        rod_small_end_g=worst.get("rod_small_end", 0.0),
        rod_whole_g=worst.get("rod_whole", 0.0),
        rod_big_end_g=worst.get("rod_big_end", 0.0),
        rod_bearings_g=worst.get("rod_bearings", 0.0) * len(shells) ** 0.5,
    )


def review_throw(state: JobState, throw: Throw) -> ThrowLine:
    """Return one throw's bobweight: its target, what is missing for it, and how it was made.

    Parameters
    ----------
    state : JobState
        The job.
    throw : Throw
        Which throw.

    Returns
    -------
    ThrowLine
        Without a target while parts are missing.
    """
    cells = _cells_of(state.spec, throw)
    missing = tuple(label_of(state.spec, cell) for cell in cells if cell not in state.weighed)
    made = state.bobweights.get(throw.number)
    if missing or not any(kind.role is PartRole.ROD_SMALL_END for kind in state.spec.kinds):
        return ThrowLine(
            throw=throw.number,
            target_g=None,
            standard_uncertainty_g=None,
            lines=(),
            missing=missing,
            made_g=None if made is None else made.grams,
            off_g=None,
            within=False,
        )
    shells = sum(
        float(state.weighed[cell].grams) for cell in cells if state.spec.kind(cell.kind).role is PartRole.ROTATING
    )
    parts = ThrowParts(
        rods=tuple(_rod(state, cylinder) for cylinder in throw.cylinders),
        rod_bearings_g=shells,
        oil_g=state.spec.oil_g,
    )
    try:
        told = bobweight(
            parts,
            reciprocating_share=state.spec.reciprocating_share,
            uncertainty=_uncertainty(state, cells),
        )
    except QuantityError as fault:
        return ThrowLine(
            throw=throw.number,
            target_g=None,
            standard_uncertainty_g=None,
            lines=(),
            missing=(str(fault),),
            made_g=None if made is None else made.grams,
            off_g=None,
            within=False,
        )
    off = None if made is None else float(made.grams) - told.total_g
    band = max(state.spec.tolerance.bobweight_g, BAND_SLACK_G)
    return ThrowLine(
        throw=throw.number,
        target_g=told.total_g,
        standard_uncertainty_g=told.standard_uncertainty_g,
        lines=tuple(
            SumLine(label=line.label, grams=line.grams, factor=line.factor, counted_g=line.contribution_g)
            for line in told.lines
        ),
        missing=(),
        made_g=None if made is None else made.grams,
        off_g=off,
        within=off is not None and abs(off) <= band + 1e-9,
    )

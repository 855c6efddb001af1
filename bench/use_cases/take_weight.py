"""Record what the weigh machine decided: taken, refined at lift, doubted, or typed by hand."""

from __future__ import annotations

from decimal import Decimal

from bench.capture.decisions import Taken
from bench.models.job import Cell, cells_in_order
from bench.trail.events import BobweightBuilt, Event, WeightTaken, WeightWithdrawn
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe

HEAVIEST_TYPED_G = Decimal(20_000)


def take_weight(scribe: Scribe, taken: Taken, cell: Cell, *, instrument: str) -> Event:
    """Record a cell's weight; durable when this returns.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    taken : Taken
        The machine's decision.
    cell : Cell
        Which part.
    instrument : str
        Which scale, by what stays the same when it is plugged in elsewhere.

    Returns
    -------
    Event
        As recorded.
    """
    state = scribe.state
    before = state.weighed.get(cell) if state else None
    payload = WeightTaken(
        cell=cell,
        shown=taken.shown,
        unit=taken.unit,
        grams=taken.grams,
        refined_g=taken.refined_g,
        standard_uncertainty_g=taken.standard_uncertainty_g,
        doubtful=taken.doubtful,
        instrument=instrument,
        reason="weighed again" if before else "",
        supersedes=before.entry.event_id if before else None,
    )
    return scribe.record([payload], raw=taken.raw)[0]


def refine_weight(scribe: Scribe, final: Taken, first: Event, *, instrument: str) -> Event:
    """Record the better value that the look until lift gave; it replaces the first one.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    final : Taken
        The final value.
    first : Event
        The event of the same laying.
    instrument : str
        Which scale.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    TypeError
        When the first event is not of a weight or a bobweight.
    """
    kept = first.payload
    changed = {
        "shown": final.shown,
        "unit": final.unit,
        "grams": final.grams,
        "standard_uncertainty_g": final.standard_uncertainty_g,
        "instrument": instrument,
        "supersedes": first.id,
    }
    if isinstance(kept, WeightTaken):
        refined = kept.model_copy(
            update=changed | {"refined_g": final.refined_g, "doubtful": final.doubtful, "reason": ""}
        )
        return scribe.record([refined], raw=final.raw)[0]
    if isinstance(kept, BobweightBuilt):
        return scribe.record([kept.model_copy(update=changed)], raw=final.raw)[0]
    raise TypeError(f"{kept.kind} carries no weight")


def withdraw_weight(scribe: Scribe, event_id: str, *, reason: str) -> Event:
    """Record that a weight does not count any more.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    event_id : str
        The event taken back.
    reason : str
        Why.

    Returns
    -------
    Event
        As recorded.
    """
    return scribe.record([WeightWithdrawn(withdraws=event_id, reason=reason)])[0]


def build_bobweight(scribe: Scribe, taken: Taken, *, throw: int, target_g: float, instrument: str) -> Event:
    """Record a bobweight as made.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    taken : Taken
        The machine's decision.
    throw : int
        Which throw.
    target_g : float
        What it was brought to. [g]
    instrument : str
        Which scale.

    Returns
    -------
    Event
        As recorded.
    """
    state = scribe.state
    before = state.bobweights.get(throw) if state else None
    payload = BobweightBuilt(
        throw=throw,
        shown=taken.shown,
        unit=taken.unit,
        grams=taken.grams,
        target_g=target_g,
        standard_uncertainty_g=taken.standard_uncertainty_g,
        instrument=instrument,
        supersedes=before.entry.event_id if before else None,
    )
    return scribe.record([payload], raw=taken.raw)[0]


def type_weight(scribe: Scribe, *, cell: Cell, grams: Decimal, reason: str) -> Event:
    """Record a typed weight, marked so.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    cell : Cell
        Which part.
    grams : Decimal
        As typed. [g]
    reason : str
        Why it is typed and not weighed.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When the number or the reason is missing, or the sheet has no such cell.
    """
    state = scribe.state
    if state is None or cell not in cells_in_order(state.spec):
        raise RefusedError(f"{cell}", found="the sheet has no such place", do="choose a place of the sheet")
    if not grams.is_finite() or not 0 < grams <= HEAVIEST_TYPED_G:
        raise RefusedError(f"{cell}", found=f"{grams} g typed", wanted="a weight above 0 and up to 20,000 g")
    if not reason.strip():
        raise RefusedError(f"{cell}", found="no reason given", wanted="a few words why it is typed")
    before = state.weighed.get(cell)
    places = max(0, -int(grams.as_tuple().exponent))  # finite, so the exponent is a number
    payload = WeightTaken(
        cell=cell,
        shown=grams,
        unit="g",
        grams=grams,
        refined_g=float(grams),
        # a typed number is trusted to half its last digit, taken as a rectangle
        standard_uncertainty_g=float(Decimal(1).scaleb(-places)) / 12**0.5,
        reason=reason.strip(),
        supersedes=before.entry.event_id if before else None,
    )
    return scribe.record([payload], how="typed")[0]

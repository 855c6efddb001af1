"""A job as plain tables: the same rows for CSV files and for the spreadsheet.

A cell is text, a number or nothing. Only what was validated as a number is a number here; whatever a person or an
instrument wrote is text, whatever it looks like.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from bench.models.job_state import JobState
from bench.use_cases.view import Review

Value = str | Decimal | float | int | None


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under headings.

    Attributes
    ----------
    name : str
        Our own short word: "weights", "bobweights", "runs", "cuts", "verdict" or "job".
    """

    name: str
    headings: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]


def job_tables(state: JobState, review: Review) -> tuple[Table, ...]:
    """Return all tables of a job.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        The job, computed.

    Returns
    -------
    tuple[Table, ...]
        Job, weights, bobweights, runs, cuts, verdict.
    """
    return (
        Table("job", ("what", "value"), tuple(_job(state))),
        Table(
            "weights",
            (
                *("part", "place", "grams", "shown", "unit", "standard uncertainty g", "out of set"),
                *("doubtful", "how", "by", "utc", "earlier grams", "reason"),
            ),
            tuple(_weights(state, review)),
        ),
        Table(
            "bobweights",
            ("throw", "line", "grams", "factor", "counted grams", "standard uncertainty g"),
            tuple(_bobweights(review)),
        ),
        Table(
            "runs",
            ("run", "utc", "plane", "grams at radius", "angle deg", "speed rpm", "cuts before", "label", "how", "by"),
            tuple(_runs(state)),
        ),
        Table(
            "cuts",
            ("cut", "utc", "plane", "grams removed", "angle deg", "station", "diameter mm", "depth mm", "by"),
            tuple(_cuts(state)),
        ),
        Table(
            "verdict", ("plane", "grams at radius", "angle deg", "limit grams", "verdict", "words"), _verdict(review)
        ),
    )


def _job(state: JobState) -> Iterator[tuple[Value, ...]]:
    spec = state.spec
    yield ("job", state.number)
    yield ("title", spec.title)
    yield ("customer", spec.customer)
    yield ("engine", spec.engine)
    yield ("serial", spec.serial)
    yield ("layout", spec.layout.name)
    yield ("simulated", "yes" if spec.simulated else "no")
    yield ("reciprocating share", spec.reciprocating_share)
    yield ("oil g a throw", spec.oil_g)
    yield ("rotor mass kg", spec.rotor_mass_kg)
    yield ("speed rpm", spec.speed_rpm)
    yield ("balance", spec.balance)
    yield ("shop limit g", spec.tolerance.shop_limit_g)
    yield ("grade mm/s", spec.tolerance.grade_mm_per_s)
    yield ("bobweight band g", spec.tolerance.bobweight_g)
    yield ("opened utc", state.opened.utc)
    yield ("signed off utc", state.signed_off.entry.utc if state.signed_off else None)
    yield ("signed off by", state.signed_off.entry.by if state.signed_off else None)
    for entry, text in state.notes:
        yield (f"note {entry.seq}", text)


def _weights(state: JobState, review: Review) -> Iterator[tuple[Value, ...]]:
    out = {(line.kind, place): bad for line in review.sets for place, bad in zip(line.places, line.out, strict=True)}
    for cell, weighed in state.weighed.items():
        yield (
            *(cell.kind, cell.place, weighed.grams, weighed.shown, weighed.unit, weighed.standard_uncertainty_g),
            "yes" if out.get((cell.kind, cell.place), False) else "no",
            "yes" if weighed.doubtful else "no",
            *(weighed.entry.how, weighed.entry.by, weighed.entry.utc),
            " ".join(format(value, "f") for value in weighed.earlier),
            weighed.reason,
        )


def _bobweights(review: Review) -> Iterator[tuple[Value, ...]]:
    for line in review.throws:
        for item in line.lines:
            yield (line.throw, item.label, item.grams, item.factor, item.counted_g, None)
        yield (line.throw, "to make", None, None, line.target_g, line.standard_uncertainty_g)
        yield (line.throw, "as made", None, None, line.made_g, None)
        yield (line.throw, "made less target", None, None, line.off_g, None)


def _runs(state: JobState) -> Iterator[tuple[Value, ...]]:
    for spin in state.spins:
        for shown in spin.planes:
            yield (
                *(spin.number, spin.entry.utc, shown.plane, shown.amount_g, shown.angle_deg),
                *(spin.speed_rpm, spin.after_cuts, spin.label, spin.entry.how, spin.entry.by),
            )


def _cuts(state: JobState) -> Iterator[tuple[Value, ...]]:
    for number, cut in enumerate(state.cuts, start=1):
        yield (
            *(number, cut.entry.utc, cut.plane, cut.grams, cut.angle_deg),
            *(cut.station, cut.diameter_mm, cut.depth_mm, cut.entry.by),
        )


def _verdict(review: Review) -> tuple[tuple[Value, ...], ...]:
    return tuple(
        (line.plane, line.amount_g, line.angle_deg, line.limit_g, str(line.verdict.value), line.words)
        for line in review.planes
    )

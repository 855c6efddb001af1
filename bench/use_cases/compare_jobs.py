"""Two jobs side by side: what was asked, what the parts weigh, how the crank came in and left."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from bench.models.job import Cell, cells_in_order, label_of
from bench.models.job_state import JobState, Spin
from bench.use_cases.review_job import review_job

ASKED = (
    "title",
    "customer",
    "engine",
    "serial",
    "balance",
    "reciprocating_share",
    "oil_g",
    "rotor_mass_kg",
    "speed_rpm",
)


@dataclass(frozen=True, slots=True)
class ComparedLine:
    """One thing both jobs tell, or one of them.

    Attributes
    ----------
    group : str
        "asked", "weights", "bobweights", "first run", "last run" or "work".
    name : str
        What it is.
    one, other : str
        In words; "" where a job tells nothing.
    difference : str
        Other less one, where both are numbers; else "".
    """

    group: str
    name: str
    one: str
    other: str
    difference: str = ""


def compare_jobs(one: JobState, other: JobState) -> tuple[ComparedLine, ...]:
    """Return two jobs side by side.

    Parameters
    ----------
    one : JobState
        A job.
    other : JobState
        Another; of another layout, only what both have by name stands side by side.

    Returns
    -------
    tuple[ComparedLine, ...]
        All of it, alike or not, group by group.
    """
    lines = [
        _words("asked", name.replace("_", " "), getattr(one.spec, name), getattr(other.spec, name)) for name in ASKED
    ]
    lines.append(_words("asked", "layout", one.spec.layout.name, other.spec.layout.name))
    lines += [_weight(one, other, cell) for cell in _cells(one, other)]
    lines += _bobweights(one, other)
    for group, at in (("first run", 0), ("last run", -1)):
        lines += _run(group, _spin(one, at), _spin(other, at))
    lines.append(_number("work", "runs", len(one.spins), len(other.spins)))
    lines.append(_number("work", "cuts", len(one.cuts), len(other.cuts)))
    lines.append(_words("work", "verdict", review_job(one).whole_verdict.value, review_job(other).whole_verdict.value))
    return tuple(lines)


def differing(lines: tuple[ComparedLine, ...]) -> tuple[ComparedLine, ...]:
    """Return the lines in which two jobs differ.

    Parameters
    ----------
    lines : tuple[ComparedLine, ...]
        As compared.

    Returns
    -------
    tuple[ComparedLine, ...]
        In the same order.
    """
    return tuple(line for line in lines if line.one != line.other)


def _cells(one: JobState, other: JobState) -> list[Cell]:
    return list(dict.fromkeys((*cells_in_order(one.spec), *cells_in_order(other.spec))))


def _words(group: str, name: str, one: object, other: object) -> ComparedLine:
    return ComparedLine(group, name, "" if one is None else str(one), "" if other is None else str(other))


def _number(group: str, name: str, one: int, other: int) -> ComparedLine:
    return ComparedLine(group, name, str(one), str(other), f"{other - one:+d}" if one != other else "")


def _grams(group: str, name: str, one: Decimal | None, other: Decimal | None) -> ComparedLine:
    both = one is not None and other is not None
    return ComparedLine(
        group,
        name,
        "" if one is None else f"{one} g",
        "" if other is None else f"{other} g",
        f"{other - one:+} g" if both and one is not None and other is not None else "",
    )


def _weight(one: JobState, other: JobState, cell: Cell) -> ComparedLine:
    first, second = one.weighed.get(cell), other.weighed.get(cell)
    return _grams(
        "weights",
        label_of(one.spec if cell in one.weighed else other.spec, cell),
        first.grams if first else None,
        second.grams if second else None,
    )


def _bobweights(one: JobState, other: JobState) -> list[ComparedLine]:
    throws = sorted({*one.bobweights, *other.bobweights})
    return [
        _grams(
            "bobweights",
            f"bobweight {throw}",
            one.bobweights[throw].grams if throw in one.bobweights else None,
            other.bobweights[throw].grams if throw in other.bobweights else None,
        )
        for throw in throws
    ]


def _spin(state: JobState, at: int) -> Spin | None:
    return state.spins[at] if state.spins else None


def _run(group: str, one: Spin | None, other: Spin | None) -> list[ComparedLine]:
    first = {} if one is None else {plane.plane: plane for plane in one.planes}
    second = {} if other is None else {plane.plane: plane for plane in other.planes}
    lines: list[ComparedLine] = []
    for name in dict.fromkeys((*first, *second)):
        a, b = first.get(name), second.get(name)
        lines.append(
            ComparedLine(
                group,
                name,
                "" if a is None else f"{a.amount_g:.2f} g at {a.angle_deg:.1f}°",
                "" if b is None else f"{b.amount_g:.2f} g at {b.angle_deg:.1f}°",
                f"{b.amount_g - a.amount_g:+.2f} g" if a is not None and b is not None else "",
            )
        )
    return lines

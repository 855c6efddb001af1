"""The weight sheet, computed: spreads, what comes off each part, each cell's state."""

from __future__ import annotations

from decimal import Decimal

from bench.computation.part_set import part_set
from bench.models.job import Cell, JobSpec, PartKind
from bench.models.job_state import JobState, Weighed
from bench.use_cases.view import SetLine

SWAPPED_DIGITS_FACTOR = 2.0


def places_of(spec: JobSpec, kind: PartKind) -> tuple[int, ...]:
    """Return the cylinders or throws of a kind.

    Parameters
    ----------
    spec : JobSpec
        The job.
    kind : PartKind
        The kind.

    Returns
    -------
    tuple[int, ...]
        In order.
    """
    return spec.layout.cylinders if kind.per == "cylinder" else tuple(t.number for t in spec.layout.throws)


def _mark(weighed: Weighed | None, *, out: bool, skipped: bool) -> str:
    if weighed is None:
        return "skipped" if skipped else "open"
    if out:
        return "out of set"
    if weighed.doubtful:
        return "doubtful"
    if weighed.entry.how == "typed":
        return "typed"
    return "retaken" if weighed.earlier else "taken"


def review_set(state: JobState, kind: PartKind) -> SetLine:
    """Return one kind's set as it stands.

    Parameters
    ----------
    state : JobState
        The job.
    kind : PartKind
        The kind.

    Returns
    -------
    SetLine
        With open cells as None.
    """
    places = places_of(state.spec, kind)
    cells = [Cell(kind=kind.name, place=place) for place in places]
    found = [state.weighed.get(cell) for cell in cells]
    grams: list[Decimal | None] = [None if w is None else w.grams for w in found]
    there = [i for i, g in enumerate(grams) if g is not None and g > 0]
    take_off: list[float | None] = [None] * len(cells)
    out = [False] * len(cells)
    spread: float | None = None
    if there:
        told = part_set([float(grams[i] or 0) for i in there], limit_g=kind.limit_g)
        spread = told.spread_g
        for place, i in enumerate(there):
            take_off[i] = told.take_off_g[place]
            out[i] = told.out[place]
    return SetLine(
        kind=kind.name,
        label=kind.label,
        places=places,
        grams=tuple(grams),
        spread_g=spread,
        limit_g=kind.limit_g,
        take_off_g=tuple(take_off),
        out=tuple(out),
        marks=tuple(
            _mark(w, out=o, skipped=cell in state.skipped) for w, o, cell in zip(found, out, cells, strict=True)
        ),
    )


def set_warnings(sets: tuple[SetLine, ...]) -> tuple[str, ...]:
    """Return what is out of the set or implausible, a sentence each.

    Parameters
    ----------
    sets : tuple[SetLine, ...]
        All sets.

    Returns
    -------
    tuple[str, ...]
        Empty when all is well.
    """
    words: list[str] = []
    for line in sets:
        there = [(p, g) for p, g in zip(line.places, line.grams, strict=True) if g is not None]
        if not there:
            continue
        middle = float(sorted(g for _, g in there)[len(there) // 2])
        for place, grams in there:
            ratio = float(grams) / middle if middle > 0 else float("nan")
            if not 1 / SWAPPED_DIGITS_FACTOR < ratio < SWAPPED_DIGITS_FACTOR:
                words.append(
                    f"{line.label} {place}: {grams} g is {ratio:.2g} times the set's middle ({middle:g} g): "
                    "a unit, a digit or the wrong part? weigh it again"
                )
        for place, off, is_out in zip(line.places, line.take_off_g, line.out, strict=True):
            if is_out and off is not None and line.limit_g is not None:
                words.append(
                    f"{line.label} {place}: {off:.1f} g above the lightest of the set, allowed {line.limit_g:g} g: "
                    f"take {off - line.limit_g:.1f} g off or use another"
                )
    return tuple(words)

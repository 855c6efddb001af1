"""What may have gone wrong between two runs, each as what the run would then have shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from bench.computation.cut_scatter import Cut
from bench.computation.stations import Station

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bench.computation.answer_model import AnswerModel

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

GRAMS_PER_OUNCE = 28.349523125
SLIP_G = 3.0
_OFF_DEG = (5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0)
_PLAIN_DEG = (10.0, 15.0)  # where a mistake both happens and can just be seen: it is thought of more often
_SLIP_SHARES = (0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0)


class Cause(StrEnum):
    """What may have happened."""

    CHANCE = "chance"
    MIRRORED = "angles counted the wrong way round"
    MIRRORED_IN_ARC = "hole on the wrong side of the counterweight's middle"
    OPPOSITE = "180° out"
    ANGLE_OFF = "hole beside its mark"
    TWICE = "twice the asked cut"
    TWICE_ONE_HOLE = "one hole cut twice"
    OTHER_PLANE = "drilled at the other end"
    SLIPPED = "bobweight moved"
    OUNCES = "grams and ounces mixed up"
    RUN_PLANES = "planes of the run named the wrong way round"


@dataclass(frozen=True, slots=True)
class Suspicion:
    """One thing that may have happened.

    Attributes
    ----------
    cause : Cause
        What.
    weight : float
        How likely before the run is looked at, relative to the others.
    cuts : tuple[Cut, ...]
        What was then really cut.
    plane_index : int or None
        The plane it happened in.
    by_deg : float or None
        For a hole beside its mark: how far. [deg]
    shift : numpy.ndarray or None
        Further covariance of what is left. [g^2]
    factor : float
        What the run's figures were multiplied with.
    swapped : bool
        Whether the run's planes were exchanged.
    """

    cause: Cause
    weight: float
    cuts: tuple[Cut, ...]
    plane_index: int | None = None
    by_deg: float | None = None
    shift: Reals | None = None
    factor: float = 1.0
    swapped: bool = False


def suspicions(model: AnswerModel) -> Iterator[Suspicion]:
    """Yield everything that is considered, the undisturbed case first.

    Parameters
    ----------
    model : AnswerModel
        The model before the run is taken in.

    Yields
    ------
    Suspicion
        One thing that may have happened.
    """
    made = model.pending
    yield Suspicion(Cause.CHANCE, 1.0, made)
    shifts = list(_slips(model.planes))
    for shift in shifts:
        yield Suspicion(Cause.SLIPPED, 0.045 / len(shifts), made, shift=shift)
    for factor in (GRAMS_PER_OUNCE, 1.0 / GRAMS_PER_OUNCE):
        yield Suspicion(Cause.OUNCES, 0.001, made, factor=factor)
    if model.planes == 2:
        yield Suspicion(Cause.RUN_PLANES, 0.001, made, swapped=True)
    by_name = {s.name: s for s in model.stations}
    for p in range(model.planes):
        mine = tuple(by_name[c.station].plane_index == p for c in made)
        if any(mine):
            yield from _mistakes(made, mine, p, by_name, model.stations)


def _mistakes(
    made: tuple[Cut, ...],
    mine: Sequence[bool],
    plane: int,
    by_name: dict[str, Station],
    stations: Sequence[Station],
) -> Iterator[Suspicion]:
    """Yield what may have been done wrong in one plane."""

    def turned(to: Sequence[float]) -> tuple[Cut, ...]:
        return tuple(replace(c, angle_deg=a) if hit else c for c, a, hit in zip(made, to, mine, strict=True))

    angles = [c.angle_deg for c in made]
    yield Suspicion(Cause.MIRRORED, 0.003, turned([-a for a in angles]), plane)
    middles = [by_name[c.station].centre_deg for c in made]
    if all(m is not None for m, hit in zip(middles, mine, strict=True) if hit):
        flipped = [2.0 * (m or 0.0) - a for m, a in zip(middles, angles, strict=True)]
        yield Suspicion(Cause.MIRRORED_IN_ARC, 0.002, turned(flipped), plane)
    yield Suspicion(Cause.OPPOSITE, 0.003, turned([a + 180.0 for a in angles]), plane)
    for off in _OFF_DEG:
        weight = (0.0075 if _PLAIN_DEG[0] <= off <= _PLAIN_DEG[1] else 0.005) / len(_OFF_DEG)
        for side in (-1.0, 1.0):
            moved = turned([a + side * off for a in angles])
            yield Suspicion(Cause.ANGLE_OFF, weight, moved, plane, by_deg=side * off)
    double = tuple(replace(c, grams=2.0 * c.grams) if hit else c for c, hit in zip(made, mine, strict=True))
    yield Suspicion(Cause.TWICE, 0.0045, double, plane)
    hits = [i for i, hit in enumerate(mine) if hit]
    if len(hits) > 1:
        for i in hits:
            one = tuple(replace(c, grams=2.0 * c.grams) if j == i else c for j, c in enumerate(made))
            yield Suspicion(Cause.TWICE_ONE_HOLE, 0.005 / len(hits), one, plane)
    for station in _counterparts(stations, plane):
        other = tuple(
            replace(c, station=station, deepens=False) if hit else c for c, hit in zip(made, mine, strict=True)
        )
        yield Suspicion(Cause.OTHER_PLANE, 0.003, other, plane)


def _counterparts(stations: Sequence[Station], plane: int) -> Iterator[str]:
    """Yield one station of every other plane."""
    seen: set[int] = {plane}
    for station in stations:
        if station.plane_index not in seen:
            seen.add(station.plane_index)
            yield station.name


def _slips(planes: int) -> Iterator[Reals]:
    """Yield the covariance a slipped bobweight adds, for places along the rotor."""
    import numpy as np

    if planes == 1:
        yield SLIP_G**2 / 2.0 * np.eye(2)
        return
    for share in _SLIP_SHARES:
        parts = np.zeros(planes)
        parts[0], parts[-1] = 1.0 - share, share
        shift: Reals = SLIP_G**2 / 2.0 * np.kron(np.outer(parts, parts), np.eye(2)).astype(np.float64)
        yield shift

"""Influence coefficients: how a rotor answers to trial weights, and what to add so that it runs quiet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bench.computation.checks import representable
from bench.computation.errors import QuantityError
from bench.computation.vectors import Vector

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Matrix = NDArray[np.complex128]

WORST_CONDITION = 1000.0
"""Condition number, columns scaled to one length, above which an error of the readings grows too much."""
MOST_PLANES = 64
"""Planes or sensors that are still taken seriously."""


@dataclass(frozen=True, slots=True)
class TrialRun:
    """A run with a trial weight.

    Attributes
    ----------
    plane : int
        Plane it was added in, from 0.
    added : Vector
        The trial weight.
    readings : tuple[Vector, ...]
        One a sensor.
    """

    plane: int
    added: Vector
    readings: tuple[Vector, ...]


@dataclass(frozen=True, slots=True)
class InfluenceAnswer:
    """What the trial runs teach.

    Attributes
    ----------
    influence : tuple[tuple[Vector, ...], ...]
        Sensor by plane: reading per unit added.
    add : tuple[Vector, ...]
        What to add in each plane to the rotor as it stands after the last run.
    add_to_initial : tuple[Vector, ...]
        What to add in each plane to the rotor of the initial run, trial weights taken off.
    predicted : tuple[Vector, ...]
        What each sensor then still reads: nothing with as many planes as sensors, the least squares' rest with fewer.
    condition : float
        Condition number of the matrix, columns scaled to one length.
    """

    influence: tuple[tuple[Vector, ...], ...]
    add: tuple[Vector, ...]
    add_to_initial: tuple[Vector, ...]
    predicted: tuple[Vector, ...]
    condition: float


class PlanesAlikeError(QuantityError):
    """The planes answer so much alike that no correction can be told from the readings.

    Parameters
    ----------
    planes : tuple[int, ...]
        The planes that look alike, from 0.
    condition : float
        Condition number found.

    Attributes
    ----------
    planes : tuple[int, ...]
        As above.
    condition : float
        As above.
    """

    def __init__(self, *, planes: tuple[int, ...], condition: float) -> None:
        self.planes = planes
        self.condition = condition
        alike = " and ".join(str(plane) for plane in planes)
        found = f"planes {alike} look alike (condition {condition:.3g})"
        if len(planes) == 1:
            found = f"plane {alike} moves no sensor"
        super().__init__(
            "trials", found=found, wanted="planes further apart, another sensor, or a trial weight that shows"
        )


def influence_answer(
    initial: Sequence[Vector], trials: Sequence[TrialRun], *, trial_weights_left_on: bool
) -> InfluenceAnswer:
    """Return the influence matrix of a rotor and what to add in each plane.

    Parameters
    ----------
    initial : Sequence[Vector]
        Readings without trial weights, one a sensor.
    trials : Sequence[TrialRun]
        One run a plane, in the order they were made.
    trial_weights_left_on : bool
        True when each trial weight stayed on for the following runs.

    Returns
    -------
    InfluenceAnswer
        Least squares when there are more sensors than planes.

    Raises
    ------
    QuantityError
        If sensors are fewer than planes, a run does not read every sensor, a plane has no run or two, a trial weight
        is zero, or a figure is not finite.
    PlanesAlikeError
        If the matrix is singular or badly conditioned.

    Notes
    -----
    Source: Rao, Mechanical Vibrations, 9.4; Tiwari, NPTEL 112103024 module 13. V = V0 + A c; the columns of A are the
    changes of the readings per trial weight; c = -A^-1 V0.

    Examples
    --------
    >>> answer = influence_answer(
    ...     [Vector(10.0, 0.0)], [TrialRun(0, Vector(2.0, 0.0), (Vector(14.0, 0.0),))], trial_weights_left_on=False
    ... )
    >>> [(round(v.amount, 9), round(v.angle_deg, 9)) for v in answer.add]
    [(5.0, 180.0)]
    """
    import numpy as np

    _check(initial, trials)
    sensors, planes = len(initial), len(trials)
    start = np.array([v.as_complex for v in initial], dtype=np.complex128)
    matrix = np.zeros((sensors, planes), dtype=np.complex128)
    standing = np.zeros(planes, dtype=np.complex128)
    before = start
    # an overflow shows as an infinite coefficient or answer, which is refused below
    with np.errstate(over="ignore", invalid="ignore"):
        for trial in trials:
            run = np.array([v.as_complex for v in trial.readings], dtype=np.complex128)
            matrix[:, trial.plane] = (run - before) / trial.added.as_complex
            if trial_weights_left_on:
                before = run
                standing[trial.plane] = trial.added.as_complex
        condition = _checked_condition(matrix)
        solution = np.asarray(np.linalg.lstsq(matrix, -start, rcond=None)[0], dtype=np.complex128)
        predicted = np.asarray(start + matrix @ solution, dtype=np.complex128)
    if not bool(np.isfinite(solution).all() and np.isfinite(predicted).all()):
        raise QuantityError("trials", found="an answer too large", wanted="trial weights and readings of usual size")
    return InfluenceAnswer(
        influence=tuple(_vectors(row) for row in matrix),
        add=_vectors(solution - standing),
        add_to_initial=_vectors(solution),
        predicted=_vectors(predicted),
        condition=condition,
    )


def _check(initial: Sequence[Vector], trials: Sequence[TrialRun]) -> None:
    if not 1 <= len(initial) <= MOST_PLANES:
        raise QuantityError("initial", found=len(initial), wanted=f"readings of 1 to {MOST_PLANES} sensors")
    if not 1 <= len(trials) <= len(initial):
        raise QuantityError(
            "trials", found=len(trials), wanted=f"1 to {len(initial)} runs: one a plane, no more planes than sensors"
        )
    for sensor, reading in enumerate(initial):
        reading.checked(quantity=f"initial[{sensor}]")
    seen: set[int] = set()
    for run, trial in enumerate(trials):
        name = f"trials[{run}]"
        if not 0 <= trial.plane < len(trials):
            raise QuantityError(f"{name}.plane", found=trial.plane, wanted=f"0 to {len(trials) - 1}: one run a plane")
        if trial.plane in seen:
            raise QuantityError(f"{name}.plane", found=trial.plane, wanted="each plane in one run only")
        seen.add(trial.plane)
        trial.added.checked(quantity=f"{name}.added")
        if trial.added.amount == 0.0:
            raise QuantityError(f"{name}.added.amount", found=0.0, wanted="a trial weight other than 0")
        if len(trial.readings) != len(initial):
            raise QuantityError(
                f"{name}.readings", found=len(trial.readings), wanted=f"one reading a sensor, {len(initial)}"
            )
        for sensor, reading in enumerate(trial.readings):
            reading.checked(quantity=f"{name}.readings[{sensor}]")


def _checked_condition(matrix: Matrix) -> float:
    import numpy as np

    lengths = [math.hypot(*(abs(complex(value)) for value in column)) for column in matrix.T]
    for plane, length in enumerate(lengths):
        representable(length, quantity=f"trials[{plane}].readings")
        if length == 0.0:
            raise PlanesAlikeError(planes=(plane,), condition=math.inf)
    scaled = matrix / np.array(lengths)
    strengths = np.linalg.svd(scaled, compute_uv=False)
    least = float(strengths[-1])
    condition = float(strengths[0]) / least if least > 0.0 else math.inf
    if not condition <= WORST_CONDITION:
        raise PlanesAlikeError(planes=_most_alike(scaled), condition=condition)
    return condition


def _most_alike(scaled: Matrix) -> tuple[int, ...]:
    import numpy as np

    # the direction in which the planes cancel each other: the planes with a large part in it look alike
    weakest = np.abs(np.linalg.svd(scaled)[2][-1])
    largest = float(weakest.max())
    return tuple(plane for plane, part in enumerate(weakest) if float(part) > 0.3 * largest)


def _vectors(values: Matrix) -> tuple[Vector, ...]:
    return tuple(Vector.of(complex(value)) for value in values)

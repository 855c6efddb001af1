"""The chances of a set of cuts: to be done after the next run, and to have gone too far."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from bench.computation.cut_aim import along, normal_tail
from bench.computation.cut_needs import complex_turns, room_through_others, spread_of_needs
from bench.computation.cut_reach import Reach

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bench.computation.answer_model import AnswerModel
    from bench.computation.answer_model_forecast import Forecast
    from bench.computation.cut_scatter import Cut

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

_POINTS = 512
_GUARD_DEVIATIONS = 1.645  # nineteen in twenty
_TRULY_INSIDE = 1.1


@lru_cache(maxsize=8)
def normal_points(wide: int, count: int = _POINTS) -> Reals:
    """Return a fixed set of points spread like independent standard normal variables.

    Parameters
    ----------
    wide : int
        How many variables, an even number.
    count : int
        How many points, an even number.

    Returns
    -------
    numpy.ndarray
        So many rows, antithetic pairs.

    Notes
    -----
    Source: additive recurrence with the generalised golden ratio, turned into normals by Box and Muller.
    """
    import numpy as np

    root = 2.0
    for _ in range(40):
        root = (1.0 + root) ** (1.0 / (wide + 1.0))
    steps = np.array([root ** -(i + 1.0) for i in range(wide)])
    flat = (0.5 + np.arange(1, count // 2 + 1)[:, None] * steps) % 1.0
    radius = np.sqrt(-2.0 * np.log(flat[:, 0::2]))
    turn = 2.0 * np.pi * flat[:, 1::2]
    half = np.empty((count // 2, wide))
    half[:, 0::2] = radius * np.cos(turn)
    half[:, 1::2] = radius * np.sin(turn)
    points: Reals = np.concatenate([half, -half])
    points.setflags(write=False)
    return points


def likely_cases(mean: complex, covariance: Reals) -> tuple[complex, ...]:
    """Return a handful of equally likely cases of an unsure vector.

    Parameters
    ----------
    mean : complex
        Where it should be.
    covariance : numpy.ndarray
        Its 2 x 2 covariance.

    Returns
    -------
    tuple[complex, ...]
        Twelve cases, in pairs on both sides of the mean.
    """
    import numpy as np

    root = np.linalg.cholesky(covariance + 1e-12 * np.eye(2))
    points = normal_points(2)
    few = np.concatenate([points[:6], points[_POINTS // 2 : _POINTS // 2 + 6]]) @ root.T
    return tuple(mean + complex(float(row[0]), float(row[1])) for row in few)


def chance_done(
    forecast: Forecast, *, noise_g: float, tolerance_g: Sequence[float], tooling_noise_g: float = 0.0
) -> float:
    """Return the chance that the next run passes with its guard band.

    Parameters
    ----------
    forecast : Forecast
        What should be left.
    noise_g : float
        Reading noise of one component. [g]
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]
    tooling_noise_g : float
        Further uncertainty of a component, from a re-seated bobweight set. [g]

    Returns
    -------
    float
        From 0 to 1.
    """
    import numpy as np

    spread = forecast.covariance
    wide = len(spread)
    noise = np.eye(wide) * (noise_g**2 + tooling_noise_g**2)
    whole = spread + noise
    root = np.linalg.cholesky(whole + 1e-12 * np.eye(wide))
    surprise = normal_points(wide) @ root.T
    gain = np.linalg.solve(whole, spread).T
    after = spread - gain @ spread
    mean = forecast.left.view(np.float64)
    shown = (mean + surprise)[:, 0::2] + 1j * (mean + surprise)[:, 1::2]
    moved = mean + surprise @ gain.T
    judged = moved[:, 0::2] + 1j * moved[:, 1::2]
    limit = np.array(tolerance_g)
    fits: NDArray[np.bool_] = np.all((np.abs(shown) <= limit) & inside_with_guard(np.abs(judged), after, limit), axis=1)
    return float(np.count_nonzero(fits)) / len(fits)


def inside_with_guard(left_g: Reals, covariance: Reals, tolerance_g: Reals) -> NDArray[np.bool_]:
    """Tell for which planes what is left is inside although it is not known exactly.

    Parameters
    ----------
    left_g : numpy.ndarray
        Amount that is thought to be left, planes last. [g]
    covariance : numpy.ndarray
        Of what is left, real and imaginary parts in turn. [g^2]
    tolerance_g : numpy.ndarray
        What may stay in each plane. [g]

    Returns
    -------
    numpy.ndarray
        True where 1.645 standard deviations more would still not be beyond 1.1 times the tolerance.
    """
    import numpy as np

    variances = np.diag(covariance)
    worst = np.sqrt(np.maximum(variances[0::2], variances[1::2]))
    answer: NDArray[np.bool_] = left_g + _GUARD_DEVIATIONS * worst <= _TRULY_INSIDE * tolerance_g
    return answer


def chance_outside(normals: Sequence[complex], rooms: Sequence[float], covariance: Reals) -> float:
    """Return the chance that an unsure vector ends beyond any of several straight edges.

    Parameters
    ----------
    normals : Sequence[complex]
        Unit vectors square to the edges, pointing inward.
    rooms : Sequence[float]
        How far inward of each edge the vector should be; negative beyond it.
    covariance : numpy.ndarray
        2 x 2, of the vector, in the square of the unit of the rooms.

    Returns
    -------
    float
        From 0 to 1. With its mean inside, the chance is the mean over all directions of exp(-d^2 / 2), d being the
        number of deviations to the first edge; with its mean beyond an edge, the sum of the tails, at most 1.

    Examples
    --------
    >>> import numpy as np
    >>> round(chance_outside([1 + 0j, -1 + 0j], [1.96, 1.96], np.eye(2)), 3)
    0.05
    """
    import numpy as np

    deviations = [along(covariance, normal) for normal in normals]
    sure = [room < 0.0 for room, deviation in zip(rooms, deviations, strict=True) if deviation == 0.0]
    unsure = [(n, r, d) for n, r, d in zip(normals, rooms, deviations, strict=True) if d > 0.0]
    if any(sure):
        return 1.0
    if any(room <= 0.0 for _, room, _ in unsure):
        return min(1.0, sum(normal_tail(room / deviation) for _, room, deviation in unsure))
    if not unsure:
        return 0.0
    root = np.linalg.cholesky(covariance + 1e-12 * np.eye(2))
    edges = np.array([[n.real, n.imag] for n, _, _ in unsure]) @ root / np.array([[r] for _, r, _ in unsure])
    nearest = np.max(-edges @ _circle(), axis=0)
    reached = nearest > 0.0
    return float(np.exp(-0.5 / nearest[reached] ** 2).sum()) / len(nearest)


@lru_cache(maxsize=1)
def _circle() -> Reals:
    """Return directions evenly round the circle, 2 x 360."""
    import numpy as np

    turns = np.arange(360) * (np.pi / 180.0)
    circle: Reals = np.array([np.cos(turns), np.sin(turns)])
    circle.setflags(write=False)
    return circle


def chance_too_far(
    model: AnswerModel,
    cuts: Sequence[Cut],
    *,
    mix: Complexes,
    reaches: Sequence[Reach],
    tolerance_g: Sequence[float],
) -> float:
    """Return the chance that what the cuts leave can no longer be brought inside by taking metal.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    cuts : Sequence[Cut]
        What would be cut.
    mix : numpy.ndarray
        Stations of a gram of each plane, stations x planes, complex.
    reaches : Sequence[Reach]
        What each plane reaches.
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]

    Returns
    -------
    float
        Sum over the planes of the chance to be beyond the reach, even with what may stay in the others; at most 1.
    """
    import numpy as np

    effects = model.effects @ mix
    inverse: Complexes = np.linalg.inv(effects).astype(np.complex128)
    turn = complex_turns(inverse)
    taken = model.taken_by_station(cuts)
    remaining = inverse @ (model.left - model.effects @ taken)
    spread = spread_of_needs(
        model,
        taken=taken,
        mix=mix,
        needs=[complex(v) for v in remaining],
        strayed=model.scattered(cuts),
        turn=turn,
    )
    more = room_through_others(effects, [complex(v) for v in remaining], reaches, tolerance_g)
    total = 0.0
    for p, reach in enumerate(reaches):
        allowed = tolerance_g[p] / max(abs(effects[p, p]), 1e-9)
        normals = reach.inward
        rooms = [
            (normal.conjugate() * complex(remaining[p])).real + allowed + further
            for normal, further in zip(normals, more[p], strict=True)
        ]
        total += chance_outside(normals, rooms, spread[p])
    return min(1.0, total)

"""How much to take in every plane so that the rotor ends short of what is wanted, never beyond it.

What a set of cuts leaves is known only with scatter: the effects are unsure and cuts stray. The aim therefore stays
short, along the directions in which metal can still be taken, by a number of standard deviations of what is left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_reach import Reach, shortest_margin

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

_TOLERANCE_USED = 0.9
_PASSES = 6


@dataclass(frozen=True, slots=True)
class Aim:
    """What to take in each plane.

    Attributes
    ----------
    wanted : numpy.ndarray
        What would have to go to leave nothing, complex, one a plane. [g]
    take : numpy.ndarray
        What to take now, short by the margin, complex, one a plane. [g]
    least : tuple[tuple[float, ...], ...]
        For each plane, how far along each inward direction of its reach what is left has to stay. [g]
    spread : numpy.ndarray
        Covariance of what will be wanted afterwards, real and imaginary parts in turn. [g^2]
    """

    wanted: Complexes
    take: Complexes
    least: tuple[tuple[float, ...], ...]
    spread: Reals


def complex_turns(matrix: Complexes) -> Reals:
    """Return a complex matrix as the real matrix that acts on real and imaginary parts in turn.

    Parameters
    ----------
    matrix : numpy.ndarray
        Complex, n x m.

    Returns
    -------
    numpy.ndarray
        Real, 2n x 2m.
    """
    import numpy as np

    rows, columns = matrix.shape
    real = np.empty((2 * rows, 2 * columns))
    real[0::2, 0::2] = matrix.real
    real[1::2, 1::2] = matrix.real
    real[0::2, 1::2] = -matrix.imag
    real[1::2, 0::2] = matrix.imag
    return real


def aim_for(
    model: AnswerModel,
    *,
    mix: Complexes,
    holes: Sequence[int],
    reaches: Sequence[Reach],
    tolerance_g: Sequence[float],
    deviations: float,
    shares: Sequence[float],
) -> Aim:
    """Return how much to take in every plane.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    mix : numpy.ndarray
        Which stations a gram of each plane goes to: stations x planes, complex.
    holes : Sequence[int]
        How many holes a plane the cuts will be spread over.
    reaches : Sequence[Reach]
        What the cuts of each plane can reach.
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]
    deviations : float
        How many standard deviations to stay short.
    shares : Sequence[float]
        How much of each plane's cut to take now: 1 all of it, 0 nothing.

    Returns
    -------
    Aim
        What is wanted and what to take.
    """
    import numpy as np

    effects = model.effects @ mix
    inverse: Complexes = np.linalg.inv(effects).astype(np.complex128)
    turn = complex_turns(inverse)
    wanted = inverse @ model.left
    planes = range(model.planes)
    best = _within_reach(effects, wanted, reaches)
    take = best * np.array(shares)
    bounds = [_TOLERANCE_USED * tolerance_g[p] / max(abs(effects[p, p]), 1e-9) for p in planes]
    margins = [[-bounds[p] for _ in reaches[p].inward] for p in planes]
    spread = turn @ model_spread(model, mix @ take, effects, take, holes) @ turn.T
    if all(r.is_round for r in reaches):
        return Aim(wanted, take, tuple(tuple(m) for m in margins), spread)
    for _ in range(_PASSES):
        for p in planes:
            block = spread[2 * p : 2 * p + 2, 2 * p : 2 * p + 2]
            normals = reaches[p].inward
            margins[p] = [deviations * along(block, n) - bounds[p] for n in normals]
            # half way only: planes that move each other would else be cut much and little in turn
            take[p] = 0.5 * (take[p] + shares[p] * _short_of(complex(best[p]), reaches[p], margins[p]))
        spread = turn @ model_spread(model, mix @ take, effects, take, holes) @ turn.T
    return Aim(wanted, take, tuple(tuple(m) for m in margins), spread)


def _short_of(best: complex, reach: Reach, margins: Sequence[float]) -> complex:
    """Return the cut within reach that comes nearest to the best one and leaves what the margins ask."""
    normals = reach.inward
    if not normals:
        return best
    most = [(n.conjugate() * best).real for n in normals]
    # a margin that would still be missed without any cut is kept as far as it goes
    least = [min(margin, limit) for margin, limit in zip(margins, most, strict=True)]
    edges = (0, len(normals) - 1)
    left = shortest_margin((*normals, *(-normals[e] for e in edges)), (*least, *(-most[e] for e in edges)))
    return reach.nearest(best - left)


def along(block: Reals, unit: complex) -> float:
    """Return the standard deviation of a vector along a direction.

    Parameters
    ----------
    block : numpy.ndarray
        Its 2 x 2 covariance.
    unit : complex
        The direction.

    Returns
    -------
    float
        Standard deviation, in the vector's unit.
    """
    x, y = unit.real, unit.imag
    variance = float(x * x * block[0, 0] + 2.0 * x * y * block[0, 1] + y * y * block[1, 1])
    return math.sqrt(max(variance, 0.0))


def model_spread(
    model: AnswerModel, taken: Complexes, effects: Complexes, take: Complexes, holes: Sequence[int]
) -> Reals:
    """Return the covariance of what a set of cuts will leave.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    taken : numpy.ndarray
        Sum of the cuts a station. [g]
    effects : numpy.ndarray
        Effects of a gram of each plane's mix.
    take : numpy.ndarray
        Sum of the cuts a plane. [g]
    holes : Sequence[int]
        Over how many holes each plane's sum is spread.

    Returns
    -------
    numpy.ndarray
        Real and imaginary parts in turn. [g^2]
    """
    import numpy as np

    spread = model.spread_after(taken)
    for p, (cut, count) in enumerate(zip(take, holes, strict=True)):
        size = abs(cut)
        if size == 0.0:
            continue
        radial, tangential = model.scatter.variances(size / count)
        vector = effects[:, p] * cut / size
        for direction, variance in ((vector, radial), (1j * vector, tangential)):
            parts = direction.view(np.float64)
            spread = spread + count * variance * np.outer(parts, parts)
    return spread


def _within_reach(effects: Complexes, wanted: Complexes, reaches: Sequence[Reach]) -> Complexes:
    """Return the cuts nearest to the wanted ones; a plane that cannot be served leaves the others to make up for it."""
    import numpy as np

    take = np.array([r.nearest(complex(v)) for r, v in zip(reaches, wanted, strict=True)])
    fixed = [p for p, v in enumerate(wanted) if abs(take[p] - v) > 1e-9]
    free = [p for p in range(len(wanted)) if p not in fixed]
    if not fixed or not free:
        return take
    undone = effects[np.ix_(free, fixed)] @ (wanted[fixed] - take[fixed])
    for p, extra in zip(free, np.linalg.solve(effects[np.ix_(free, free)], undone), strict=True):
        take[p] = reaches[p].nearest(complex(wanted[p] + extra))
    return take

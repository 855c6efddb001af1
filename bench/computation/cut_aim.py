"""How much to take in every plane so that the rotor ends short of what is wanted, never beyond it.

What a set of cuts leaves is known only with scatter: the effects are unsure and cuts stray. The aim therefore stays
short, along the directions in which metal can still be taken, by a number of standard deviations of what is left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_needs import complex_turns, spread_of_needs
from bench.computation.cut_reach import Reach, shortest_margin

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

_TOLERANCE_USED = 0.9
_PASSES = 6
_NORMAL = NormalDist()


def normal_tail(deviations: float) -> float:
    """Return the chance that a normal variable is above so many standard deviations.

    Parameters
    ----------
    deviations : float
        How many.

    Returns
    -------
    float
        Upper tail.

    Examples
    --------
    >>> round(normal_tail(3.0), 5)
    0.00135
    """
    return 0.5 * math.erfc(deviations / math.sqrt(2.0))


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
    spread : tuple[numpy.ndarray, ...]
        For each plane, 2 x 2 covariance of what will be wanted afterwards. [g^2]
    """

    wanted: Complexes
    take: Complexes
    least: tuple[tuple[float, ...], ...]
    spread: tuple[Reals, ...]


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
    spread = _spread(model, mix, effects, turn, wanted, take, holes)
    if all(r.is_round for r in reaches):
        return Aim(wanted, take, tuple(tuple(m) for m in margins), spread)
    before = _spread(model, mix, effects, turn, wanted, 0.0 * take, holes)
    asked = [_asked(deviations, before[p], complex(wanted[p]), bounds[p], reaches[p]) for p in planes]
    for _ in range(_PASSES):
        for p in planes:
            normals = reaches[p].inward
            margins[p] = [k * along(spread[p], n) - bounds[p] for k, n in zip(asked[p], normals, strict=True)]
            # half way only: planes that move each other would else be cut much and little in turn
            take[p] = 0.5 * (take[p] + shares[p] * _short_of(complex(best[p]), reaches[p], margins[p]))
        spread = _spread(model, mix, effects, turn, wanted, take, holes)
    return Aim(wanted, take, tuple(tuple(m) for m in margins), spread)


def _asked(deviations: float, before: Reals, wanted: complex, bound: float, reach: Reach) -> list[float]:
    """Return how many deviations short a cut stays along each inward direction.

    Where the need may lie beyond the reach whatever is cut, only what the cut adds to that chance is held small.
    """
    own = normal_tail(deviations)
    asked: list[float] = []
    for normal in reach.inward:
        room, deviation = (normal.conjugate() * wanted).real + bound, along(before, normal)
        already = normal_tail(room / deviation) if deviation > 0.0 else 0.0
        asked.append(-_NORMAL.inv_cdf(min(0.5, own + already)))
    return asked


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


def _spread(
    model: AnswerModel,
    mix: Complexes,
    effects: Complexes,
    turn: Reals,
    wanted: Complexes,
    take: Complexes,
    holes: Sequence[int],
) -> tuple[Reals, ...]:
    """Return how unsure every plane's need will be after cuts of so many holes."""
    return spread_of_needs(
        model,
        taken=mix @ take,
        mix=mix,
        needs=[complex(v) for v in wanted - take],
        strayed=strayed_by(model, effects, take, holes),
        turn=turn,
    )


def strayed_by(model: AnswerModel, effects: Complexes, take: Complexes, holes: Sequence[int]) -> Reals:
    """Return what the scatter of a set of cuts adds to the covariance of what they leave.

    Parameters
    ----------
    model : AnswerModel
        What is known.
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

    spread = np.zeros((2 * model.planes, 2 * model.planes))
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

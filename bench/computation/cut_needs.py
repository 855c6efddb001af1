"""What will still have to go from every plane after some cuts, and how unsure that is.

What one plane needs hangs on the others: a gram that is still to go elsewhere moves this plane by an amount that is
not known exactly. A plane whose neighbour has much left is therefore known worse than its reading.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.answer_model_algebra import rows_after
from bench.computation.cut_reach import Reach

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

_ROUND = tuple(cmath.rect(1.0, i * math.pi / 8.0) for i in range(16))
_LEAST_EFFECT = 1e-9
_PARALLEL = 1e-9


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


def spread_of_needs(
    model: AnswerModel, *, taken: Complexes, mix: Complexes, needs: Sequence[complex], strayed: Reals, turn: Reals
) -> tuple[Reals, ...]:
    """Return how unsure it is, plane by plane, on which side of nothing its need ends.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    taken : numpy.ndarray
        Sum of the cuts a station, complex. [g]
    mix : numpy.ndarray
        Stations of a gram of each plane, stations x planes, complex.
    needs : Sequence[complex]
        What will have to go from each plane after the cuts. [g]
    strayed : numpy.ndarray
        What the cuts' own scatter adds to the covariance of what is left. [g^2]
    turn : numpy.ndarray
        The matrix that leads from what is left to what is needed, on real and imaginary parts in turn.

    Returns
    -------
    tuple[numpy.ndarray, ...]
        A 2 x 2 covariance a plane. [g^2]

    Notes
    -----
    Source: first order in the errors of the effects. A need is the inverse of the effects times what is left, so that
    an error of an effect counts with all that goes at its station, now and later. One part does not: an effect on its
    own plane that is larger or smaller makes the need smaller or larger and leaves it on its side.
    """
    wider = 1.0 if model.tested else model.trust.doubt
    size = 2 * model.planes
    blocks: list[Reals] = []
    for p in range(model.planes):
        others = sum((mix[:, q] * needs[q] for q in range(model.planes) if q != p), 0.0 * taken)
        rows = rows_after(taken + others, model.planes, wider)
        for s in range(len(taken)):
            later = complex(mix[s, p] * needs[p])
            own = complex(model.effects[p, s])
            if later != 0 and own != 0:
                aside = 1j * own * later * wider / abs(own) ** 2
                column = size * (1 + s) + 2 * p
                for part, of in ((0, -own.imag), (1, own.real)):
                    rows[2 * p, column + part] -= aside.real * of
                    rows[2 * p + 1, column + part] -= aside.imag * of
        to_plane = turn[2 * p : 2 * p + 2]
        left: Reals = rows @ model.covariance @ rows.T + strayed
        blocks.append(to_plane @ left @ to_plane.T)
    return tuple(blocks)


def room_through_others(
    effects: Complexes, needs: Sequence[complex], reaches: Sequence[Reach], tolerance_g: Sequence[float]
) -> tuple[tuple[float, ...], ...]:
    """Return how much further every plane can be brought when the others need not end at nothing.

    Parameters
    ----------
    effects : numpy.ndarray
        Effects of a gram of each plane's mix, planes x planes, complex.
    needs : Sequence[complex]
        What will have to go from each plane. [g]
    reaches : Sequence[Reach]
        What each plane reaches.
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]

    Returns
    -------
    tuple[tuple[float, ...], ...]
        For each plane, one for every inward direction of its reach. [g]

    Notes
    -----
    Source: the lever rule. A plane may be cut more or less than it needs by what may stay in it, as far as its reach
    allows, and each gram of that moves the others by its far effect. Tried in sixteen directions.
    """
    room = [[0.0] * len(reach.inward) for reach in reaches]
    for q, other in enumerate(reaches):
        own = max(abs(complex(effects[q, q])), _LEAST_EFFECT)
        need = other.nearest(complex(needs[q]))
        spares = [_spare(unit, need, other, tolerance_g[q] / own) for unit in _ROUND]
        for p, reach in enumerate(reaches):
            if p != q:
                far = -complex(effects[p, q] / effects[p, p])
                gained = [[(n.conjugate() * far * spare).real for spare in spares] for n in reach.inward]
                room[p] = [r + max(0.0, *g) for r, g in zip(room[p], gained, strict=True)]
    return tuple(tuple(r) for r in room)


def _spare(unit: complex, need: complex, reach: Reach, most_g: float) -> complex:
    """Return how far a cut may differ from the need in a direction: by at most so much, and not out of its reach."""
    size = most_g
    for normal in reach.inward:
        slope = (normal.conjugate() * unit).real
        if slope < -_PARALLEL:
            size = min(size, max(0.0, (normal.conjugate() * need).real) / -slope)
    return unit * size

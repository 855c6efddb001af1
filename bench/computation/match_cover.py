"""Sets of parts that use every cylinder and part once, chosen by a mixed-integer programme (HiGHS)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from bench.computation.match_sets import SAME_G, PartSets

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Cover:
    """What the solver says.

    Attributes
    ----------
    rows : Indices | None
        The sets chosen, one a cylinder; None where there is no choice, or none was found in time.
    finished : bool
        Whether the answer is the best there is.
    """

    rows: Indices | None
    finished: bool


def best_cover(
    sets: PartSets, chosen: Indices, *, throws: tuple[tuple[int, ...], ...], smallest_g: float, seconds: float
) -> Cover:
    """Choose sets that use every cylinder and part once, so that the largest sum and the throws' spread are small.

    Parameters
    ----------
    sets : PartSets
        All sets.
    chosen : Indices
        Those that may be used.
    throws : tuple[tuple[int, ...], ...]
        Cylinders of each throw, from 0; may be empty.
    smallest_g : float
        The sum that must be the smallest, as difference from the mean. [g]
    seconds : float
        Longest search. [s]

    Returns
    -------
    Cover
        The sets.

    Examples
    --------
    >>> from bench.computation.match_problem import MatchProblem
    >>> problem = MatchProblem((500.0, 501.0), ("pin",), ((149.0, 150.0),), ())
    >>> sets = PartSets.of(problem, start=problem.as_given(), free=(0,))
    >>> cover = best_cover(sets, sets.between(-1.0, 1.0), throws=(), smallest_g=0.0, seconds=1.0)
    >>> cover.finished, sets.placing(problem.as_given(), free=(0,), rows=cover.rows.tolist())
    (True, ((1, 0),))
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    members = sets.members(chosen)
    cylinders, columns = sets.shape[0], len(chosen)
    if any(len(np.unique(member)) < cylinders for member in members):
        return Cover(rows=None, finished=True)
    deviation = sets.deviation_g[chosen]
    extras = 3 if throws else 1
    once = np.zeros((len(members) * cylinders, columns + extras))
    for kind, member in enumerate(members):
        once[kind * cylinders + member, np.arange(columns)] = 1.0
    by_cylinder = once[:cylinders, :columns] * deviation
    starts = np.zeros((1, columns + extras))
    starts[0, :columns] = deviation <= smallest_g + SAME_G
    blocks = [_held(by_cylinder, columns + extras, column=columns, sign=-1.0)]
    held = [np.zeros(cylinders)]
    if throws:
        # sums are taken about their mean: a throw with more cylinders than another has more means to carry
        carried = sets.mean_g * np.array([len(throw) - len(throws[0]) for throw in throws], dtype=np.float64)
        held.extend((carried, -carried))
        by_throw = np.array([by_cylinder[list(throw)].sum(axis=0) for throw in throws])
        blocks.append(_held(by_throw, columns + extras, column=columns + 1, sign=-1.0))
        blocks.append(_held(by_throw, columns + extras, column=columns + 2, sign=1.0))
    result = milp(
        np.concatenate((np.zeros(columns), (1.0, 1.0, -1.0)[:extras])),
        integrality=np.concatenate((np.ones(columns, dtype=np.int64), np.zeros(extras, dtype=np.int64))),
        bounds=Bounds(
            np.concatenate((np.zeros(columns), np.full(extras, -np.inf))),
            np.concatenate((np.ones(columns), np.full(extras, np.inf))),
        ),
        constraints=[
            LinearConstraint(once, 1.0, 1.0),
            LinearConstraint(starts, 1.0, np.inf),
            LinearConstraint(np.vstack(blocks), np.concatenate(held), np.inf),
        ],
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    rows = None if result.x is None else chosen[np.asarray(result.x[:columns]) > 0.5]
    return Cover(rows=rows, finished=result.status in {0, 2})


def _held(sums: NDArray[np.float64], width: int, *, column: int, sign: float) -> NDArray[np.float64]:
    """Return rows that keep an unknown above the sums (sign -1) or below them (sign 1)."""
    import numpy as np

    rows = np.zeros((len(sums), width))
    rows[:, : sums.shape[1]] = sign * sums
    rows[:, column] = -sign
    return rows

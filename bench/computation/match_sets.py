"""Every set of a cylinder and one part of each kind, by how far its sum is from the mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bench.computation.match_problem import MatchProblem, Placing

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Indices = NDArray[np.int64]

MOST_SETS = 4_000_000
"""Sets that are looked at; with more, some kinds stay where the swaps put them."""
SAME_G = 1e-8
"""Sums this near are one sum. [g]"""


def free_kinds(problem: MatchProblem) -> tuple[int, ...]:
    """Return the loose kinds whose sets can all be looked at.

    Parameters
    ----------
    problem : MatchProblem
        The weights.

    Returns
    -------
    tuple[int, ...]
        Indices of loose kinds, from the first.

    Examples
    --------
    >>> free_kinds(MatchProblem((500.0, 501.0), ("pin",), ((149.0, 150.0),), ()))
    (0,)
    """
    cylinders = len(problem.base_g)
    count = len(problem.grams)
    while count > 1 and cylinders ** (count + 1) > MOST_SETS:
        count -= 1
    return tuple(range(count))


@dataclass(frozen=True, slots=True)
class PartSets:
    """The sets, numbered through cylinder and parts.

    Attributes
    ----------
    deviation_g : Floats
        Sum of each set less the mean. [g]
    order : Indices
        The sets from light to heavy.
    mean_g : float
        Mean of the cylinders' sums, the same for every pairing. [g]
    shape : tuple[int, ...]
        Number of cylinders, and of parts of each free kind.
    """

    deviation_g: Floats
    order: Indices
    mean_g: float
    shape: tuple[int, ...]

    @classmethod
    def of(cls, problem: MatchProblem, *, start: Placing, free: tuple[int, ...]) -> PartSets:
        """Return the sets of a problem; kinds that are not free stay as placed at the start.

        Parameters
        ----------
        problem : MatchProblem
            The weights.
        start : Placing
            Where the parts that are not free stay.
        free : tuple[int, ...]
            The free kinds.

        Returns
        -------
        PartSets
            All of them.
        """
        import numpy as np

        base = np.array(problem.base_g, dtype=np.float64)
        for kind, grams in enumerate(problem.grams):
            if kind not in free:
                base = base + np.array([grams[part] for part in start[kind]], dtype=np.float64)
        mean_g = float(base.mean())
        deviation = base - mean_g
        for kind in free:
            parts = np.array(problem.grams[kind], dtype=np.float64)
            mean_g += float(parts.mean())
            deviation = np.add.outer(deviation, parts - float(parts.mean())).ravel()
        order = np.asarray(np.argsort(deviation, kind="stable"), dtype=np.int64)
        shape = (len(problem.base_g),) * (len(free) + 1)
        return cls(deviation_g=deviation, order=order, mean_g=mean_g, shape=shape)

    def width_of(self, count: int) -> float:
        """Return how far from the mean this many sets reach.

        Parameters
        ----------
        count : int
            Number of sets.

        Returns
        -------
        float
            Their largest distance from the mean. [g]
        """
        import numpy as np

        distances = np.sort(np.abs(self.deviation_g))
        return float(distances[min(count, distances.size) - 1])

    def values_below_mean(self, reach_g: float) -> list[float]:
        """Return the different sums from the mean down to this far below it.

        Parameters
        ----------
        reach_g : float
            How far. [g]

        Returns
        -------
        list[float]
            From light to heavy, as differences from the mean. [g]
        """
        values: list[float] = []
        for value in self.deviation_g[self.between(-reach_g, 0.0)].tolist():
            if not values or value - values[-1] > SAME_G:
                values.append(value)
        return values

    def between(self, low_g: float, high_g: float) -> Indices:
        """Return the sets whose sums lie between two differences from the mean.

        Parameters
        ----------
        low_g : float
            Low end. [g]
        high_g : float
            High end. [g]

        Returns
        -------
        Indices
            Numbers of the sets, light to heavy.
        """
        import numpy as np

        ordered = self.deviation_g[self.order]
        first = int(np.searchsorted(ordered, low_g - SAME_G, side="left"))
        last = int(np.searchsorted(ordered, high_g + SAME_G, side="right"))
        return self.order[first:last]

    def members(self, chosen: Indices | Sequence[int]) -> tuple[Indices, ...]:
        """Return who is in sets.

        Parameters
        ----------
        chosen : Indices or Sequence[int]
            Numbers of the sets.

        Returns
        -------
        tuple[Indices, ...]
            Their cylinders, then their parts of each free kind.
        """
        import numpy as np

        return tuple(
            np.asarray(axis, dtype=np.int64)
            for axis in np.unravel_index(np.asarray(chosen, dtype=np.int64), self.shape)
        )

    def placing(self, start: Placing, *, free: tuple[int, ...], rows: Sequence[int]) -> Placing:
        """Return the pairing that sets, one a cylinder, make up.

        Parameters
        ----------
        start : Placing
            Where the parts that are not free stay.
        free : tuple[int, ...]
            The free kinds.
        rows : Sequence[int]
            Numbers of the sets.

        Returns
        -------
        Placing
            The pairing.
        """
        cylinder, *parts = self.members(rows)
        orders = [list(order) for order in start]
        for kind, part in zip(free, parts, strict=True):
            for where, which in zip(cylinder.tolist(), part.tolist(), strict=True):
                orders[kind][where] = which
        return tuple(tuple(order) for order in orders)

"""The pairing problem as plain numbers, and what a pairing is worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

Placing = tuple[tuple[int, ...], ...]
"""For each loose kind the index of the part at cylinder 0, 1, and so on."""


@dataclass(frozen=True, slots=True)
class MatchProblem:
    """Weights to pair.

    Attributes
    ----------
    base_g : tuple[float, ...]
        What is fixed to each cylinder. [g]
    loose : tuple[str, ...]
        Names of the loose kinds.
    grams : tuple[tuple[float, ...], ...]
        Their weights, one a cylinder. [g]
    throws : tuple[tuple[int, ...], ...]
        Cylinders of each throw, from 0; empty when only cylinders matter.
    """

    base_g: tuple[float, ...]
    loose: tuple[str, ...]
    grams: tuple[tuple[float, ...], ...]
    throws: tuple[tuple[int, ...], ...]

    def as_given(self) -> Placing:
        """Return the pairing in the order the weights were given.

        Returns
        -------
        Placing
            Part k at cylinder k.
        """
        return tuple(tuple(range(len(self.base_g))) for _ in self.loose)

    def cylinder_sums(self, placing: Placing) -> list[float]:
        """Return each cylinder's sum.

        Parameters
        ----------
        placing : Placing
            The pairing.

        Returns
        -------
        list[float]
            Exactly rounded sums. [g]
        """
        return [
            math.fsum([base, *(grams[parts[cylinder]] for grams, parts in zip(self.grams, placing, strict=True))])
            for cylinder, base in enumerate(self.base_g)
        ]

    def throw_sums(self, sums_g: Sequence[float]) -> list[float]:
        """Return each throw's sum.

        Parameters
        ----------
        sums_g : Sequence[float]
            Each cylinder's. [g]

        Returns
        -------
        list[float]
            Empty without throws. [g]
        """
        return [math.fsum(sums_g[cylinder] for cylinder in throw) for throw in self.throws]

    def objective(self, placing: Placing) -> float:
        """Return what is made small: the cylinders' spread plus the throws' spread.

        Parameters
        ----------
        placing : Placing
            The pairing.

        Returns
        -------
        float
            Not negative. [g]
        """
        return self.worth(self.cylinder_sums(placing))

    def worth(self, sums_g: Sequence[float]) -> float:
        """Return the objective of cylinder sums.

        Parameters
        ----------
        sums_g : Sequence[float]
            Each cylinder's. [g]

        Returns
        -------
        float
            Not negative. [g]
        """
        spread = max(sums_g) - min(sums_g)
        throws = self.throw_sums(sums_g)
        return spread + (max(throws) - min(throws) if throws else 0.0)

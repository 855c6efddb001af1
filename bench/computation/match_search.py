"""Sets of parts that use every cylinder and part once, looked for by trying the scarcest part first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from bench.computation.match_sets import SAME_G

MOST_NODES = 4_000
"""Choices tried in one window before the solver takes over."""


@dataclass(frozen=True, slots=True)
class Column:
    """One set of a cylinder and a part of each kind.

    Attributes
    ----------
    number : int
        The set's number.
    deviation_g : float
        Its sum less the mean. [g]
    items : tuple[int, ...]
        Cylinder and parts, numbered through.
    mask : int
        The same as bits.
    """

    number: int
    deviation_g: float
    items: tuple[int, ...]
    mask: int

    @classmethod
    def of(cls, number: int, deviation_g: float, members: Sequence[int], *, size: int) -> Column:
        """Return the column of a cylinder and its parts.

        Parameters
        ----------
        number : int
            The set's number.
        deviation_g : float
            Its sum less the mean. [g]
        members : Sequence[int]
            Cylinder, then the part of each kind, each from 0.
        size : int
            Number of cylinders.

        Returns
        -------
        Column
            Items numbered through.
        """
        items = tuple(kind * size + member for kind, member in enumerate(members))
        return cls(number=number, deviation_g=deviation_g, items=items, mask=sum(1 << item for item in items))


@dataclass(slots=True)
class WindowSearch:
    """The search of one window.

    Attributes
    ----------
    items : int
        Number of cylinders and parts together.
    worth_of : Callable[[Sequence[Column]], float]
        What a whole choice is worth; never below the spread of its sums.
    worth : float
        Only choices worth less than this are wanted. [g]
    nodes : int
        Choices tried so far.
    best : tuple[Column, ...]
        The best choice so far; empty while there is none.
    """

    items: int
    worth_of: Callable[[Sequence[Column]], float]
    worth: float
    nodes: int = 0
    best: tuple[Column, ...] = field(default=())

    def run(self, columns: Sequence[Column], *, smallest_g: float) -> bool:
        """Look for the best choice whose smallest sum is the given one.

        Parameters
        ----------
        columns : Sequence[Column]
            The window, light to heavy.
        smallest_g : float
            The sum that must be the smallest, as difference from the mean. [g]

        Returns
        -------
        bool
            Whether the window was searched to its end.
        """
        for first in columns:
            if first.deviation_g > smallest_g + SAME_G:
                break
            rest = [column for column in columns if not column.mask & first.mask]
            open_items = (1 << self.items) - 1 & ~first.mask
            if not self._go_on([first], rest, open_items):
                return False
        return True

    def _go_on(self, chosen: list[Column], columns: list[Column], open_items: int) -> bool:
        if not open_items:
            worth = self.worth_of(chosen)
            if worth < self.worth:
                self.worth, self.best = worth, tuple(chosen)
            return True
        self.nodes += 1
        if self.nodes > MOST_NODES:
            return False
        for column in self._of_scarcest(columns, open_items):
            if not column.deviation_g - chosen[0].deviation_g < self.worth:
                continue
            rest = [other for other in columns if not other.mask & column.mask]
            if not self._go_on([*chosen, column], rest, open_items & ~column.mask):
                return False
        return True

    def _of_scarcest(self, columns: list[Column], open_items: int) -> list[Column]:
        counts = [0] * self.items
        for column in columns:
            for item in column.items:
                counts[item] += 1
        scarcest = min((item for item in range(self.items) if open_items >> item & 1), key=counts.__getitem__)
        return [column for column in columns if column.mask >> scarcest & 1]

"""What a row of the speed table is: ours beside a rival or a limit, measured in turn within one run."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Pairs = Callable[[Path], Iterator[tuple[float, float]]]
"""Gives (ours, rival) in the same unit, once a round; rounds alternate so that a slow moment hits both."""


@dataclass(frozen=True)
class Row:
    """One row.

    Attributes
    ----------
    subject, against : str
        What is measured, beside what.
    bound : "at most" or "at least"
        Which side of `wanted` is good. "at least": the ratio is the rival's time over ours.
    wanted : float
        The ratio to reach.
    pairs : Callable
        Measures.
    unit : str
        Of the two figures.
    """

    subject: str
    against: str
    bound: Literal["at most", "at least"]
    wanted: float
    pairs: Pairs
    unit: str = "s"


@dataclass(frozen=True)
class Measured:
    """A row's figures: medians over the rounds."""

    row: Row
    ours: float
    rival: float
    ratio: float

    @property
    def reached(self) -> bool:
        """Whether the ratio is on the good side."""
        return self.ratio <= self.row.wanted if self.row.bound == "at most" else self.ratio >= self.row.wanted


def measure(row: Row, folder: Path) -> Measured:
    """Measure a row; the ratio is the median of the rounds' ratios."""
    pairs = list(row.pairs(folder))
    turned = row.bound == "at least"
    ratios = [rival / ours if turned else ours / rival for ours, rival in pairs]
    return Measured(
        row,
        statistics.median(ours for ours, _ in pairs),
        statistics.median(rival for _, rival in pairs),
        statistics.median(ratios),
    )

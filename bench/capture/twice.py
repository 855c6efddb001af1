"""Rods hung by one end: the lie of the bearing is steady and wrong, so each is hung at least twice."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import sqrt
from statistics import fmean, median

from bench.capture.decisions import Taken
from bench.capture.units import nearest_step

APART_DIVISIONS = 3.0
APART_U = 3.0
SPREAD_SHARE = 1.1


class TwiceHung:
    """Keeps what one key showed each time it was hung."""

    def __init__(self) -> None:
        self._key = ""
        self._seen: list[Taken] = []

    def add(self, taken: Taken, *, step: Decimal, factor: Decimal) -> Taken | None:
        """Take a value and return what they show together.

        Parameters
        ----------
        taken : Taken
            Value of one hanging.
        step : Decimal
            Division of the scale. [unit]
        factor : Decimal
            Grams in one unit.

        Returns
        -------
        Taken | None
            Mean of two that agree, or the median of three; None when it must be hung again.
        """
        if taken.key != self._key:
            self._key, self._seen = taken.key, []
        self._seen.append(taken)
        values = [t.refined_g for t in self._seen]
        if len(values) < 2:
            return None
        model = max(t.standard_uncertainty_g for t in self._seen)
        apart = max(values) - min(values)
        near = apart <= max(APART_DIVISIONS * float(step * factor), APART_U * model)
        if len(values) == 2 and not near:
            return None
        together = fmean(values) if near else median(values)
        u = max(model, apart / sqrt(2.0) * SPREAD_SHARE)
        shown = nearest_step(Decimal(repr(together)) / factor, step)
        raw = tuple(line for t in self._seen for line in t.raw)
        self._seen = []
        return replace(
            taken,
            shown=shown,
            grams=shown * factor,
            refined_g=together,
            standard_uncertainty_g=u,
            doubtful=taken.doubtful or not near,
            raw=raw,
        )

"""Rods hung by one end: the lie of the bearing is steady and wrong, so each is hung at least twice."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import sqrt
from statistics import fmean, median

from bench.capture.decisions import Taken
from bench.capture.units import in_grams, nearest_step

APART_DIVISIONS = 3.0
APART_U = 3.0
SPREAD_SHARE = 1.1
ROUNDING = 1.000001


class TwiceHung:
    """Keeps what one key showed each time it was hung."""

    def __init__(self) -> None:
        self._key = ""
        self._seen: list[Taken] = []
        self._allowed_g = 0.0

    def words(self, *, places: int) -> str:
        """Return how the hangings so far lie apart, to follow the last value.

        Parameters
        ----------
        places : int
            Decimals of the scale.

        Returns
        -------
        str
            Empty after the first.
        """
        if len(self._seen) < 2:
            return ""
        values = [t.refined_g for t in self._seen]
        apart = f"{max(values) - min(values):.{places}f} g apart, allowed {self._allowed_g:.{places}f} g"
        return f", hung before at {values[-2]:.{places}f} g: {apart}"

    def add(self, taken: Taken, *, step: Decimal, factor: Decimal, limit_g: float | None = None) -> Taken | None:
        """Take a value and return what they show together.

        Parameters
        ----------
        taken : Taken
            Value of one hanging.
        step : Decimal
            Division of the scale. [unit]
        factor : Decimal
            Grams in one unit.
        limit_g : float | None
            How far two may lie apart; None for three divisions, or what noise explains. [g]

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
        usual = max(APART_DIVISIONS * float(step * factor), APART_U * model)
        allowed = self._allowed_g = usual if limit_g is None else limit_g
        near = apart <= allowed * ROUNDING
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
            grams=in_grams(shown, factor),
            refined_g=together,
            standard_uncertainty_g=u,
            doubtful=taken.doubtful or not near,
            raw=raw,
            hung_g=tuple(values),
            apart_g=allowed,
        )

"""The part of a scale that shows: rounding, zero and tare keys, unit key, dead band, repeats, the steady word."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.pan import STEP_S, Pans

OUNCE_KG = 0.45359237 / 16.0
"""Avoirdupois ounce, exact since the pound's definition of 1959. [kg]"""

_ZERO_TRACK_DIVISIONS = 0.5
_ANCHOR_PULL = 0.01


@dataclass(frozen=True, slots=True)
class Shown:
    """What the display shows at one line.

    Attributes
    ----------
    value : float | None
        Number in the unit, already rounded; None beyond the range. [unit]
    decimals : int
        Decimals shown.
    unit : str
        ``g`` or ``oz``.
    steady : bool | None
        The steady word; None when the scale has none.
    over : bool
        More than the scale can carry.
    under : bool
        Far less than nothing.
    """

    value: float | None
    decimals: int
    unit: str
    steady: bool | None
    over: bool = False
    under: bool = False


class Indicator:
    """Turns the filtered output into what is shown.

    Parameters
    ----------
    pans : Pans
        Constants; the first of them is taken.
    rng : np.random.Generator
        Electronic noise.
    capacity_kg : float
        What the scale can carry. [kg]
    tracks_zero : bool
        Whether the scale follows a slowly wandering zero by itself.
    """

    def __init__(
        self, pans: Pans, rng: np.random.Generator, *, capacity_kg: float = 3.1, tracks_zero: bool = True
    ) -> None:
        self._rng = rng
        self._division_kg = pans.division_kg
        self._noise_kg = float(pans.noise_kg[0])
        self._display_s = float(pans.display_s[0])
        self._dead_band_kg = float(pans.dead_band_kg[0])
        self._calm_s = float(pans.calm_s[0])
        self._has_flag = int(pans.flag_kind[0]) != 0
        self._flag_s = float(pans.flag_s[0])
        self._flag_band_kg = float(pans.flag_band_kg[0])
        self._capacity_kg = capacity_kg
        self._tracks_zero = tracks_zero
        self._zero_kg = -float(pans.zero_kg[0])
        self._tare_kg = 0.0
        self.unit = "g"
        self._output_kg = 0.0
        self._anchor_kg = 0.0
        self._rested_s = 0.0
        self._held_kg = 0.0
        self._fresh_at_s = -math.inf
        self._line_at_s = 0.0

    @property
    def steady(self) -> bool:
        """Whether the output has rested long enough for the steady word."""
        return self._rested_s >= self._flag_s

    def see(self, output_kg: float) -> None:
        """Take the filtered output of one step.

        Parameters
        ----------
        output_kg : float
            Output of the pan. [kg]
        """
        self._output_kg = output_kg
        off = output_kg - self._anchor_kg
        if abs(off) <= self._flag_band_kg / 2:
            self._rested_s += STEP_S
            self._anchor_kg += off * _ANCHOR_PULL
        else:
            self._anchor_kg = output_kg
            self._rested_s = 0.0

    def press_zero(self) -> None:
        """Make what lies on the pan the new zero and forget the tare."""
        self._zero_kg, self._tare_kg = self._output_kg, 0.0

    def press_tare(self) -> None:
        """Take off what lies on the pan as tare."""
        self._tare_kg = self._output_kg - self._zero_kg

    def press_unit(self) -> None:
        """Show the next unit."""
        self.unit = "oz" if self.unit == "g" else "g"

    def line(self, at_s: float) -> Shown:
        """Return what is shown now.

        Parameters
        ----------
        at_s : float
            Moment of the line. [s]

        Returns
        -------
        Shown
            Number, unit and words.
        """
        gap_s, self._line_at_s = at_s - self._line_at_s, at_s
        measured = self._output_kg + self._noise_kg * float(self._rng.standard_normal())
        self._follow_zero(measured, gap_s)
        if at_s - self._fresh_at_s >= self._display_s:
            self._fresh_at_s = at_s
            self._held_kg = self._stick(measured, max(gap_s, self._display_s))
        steady = self.steady if self._has_flag else None
        decimals = max(0, -math.floor(math.log10(self._division_kg * 1000.0) + 1e-9))
        if self._held_kg - self._zero_kg > self._capacity_kg:
            return Shown(None, decimals, self.unit, steady, over=True)
        if self._held_kg - self._zero_kg < -self._capacity_kg:
            return Shown(None, decimals, self.unit, steady, under=True)
        net_kg = self._held_kg - self._zero_kg - self._tare_kg
        if self.unit == "oz":
            return Shown(round(net_kg / OUNCE_KG, 3) + 0.0, 3, "oz", steady)
        grams = round(net_kg / self._division_kg) * self._division_kg * 1000.0
        return Shown(round(grams, decimals) + 0.0, decimals, "g", steady)

    def _stick(self, measured_kg: float, gap_s: float) -> float:
        if self._calm_s <= 0.0:
            return measured_kg
        off = measured_kg - self._held_kg
        if abs(off) > 3.0 * self._division_kg:
            return measured_kg
        if abs(off) <= self._dead_band_kg:
            return self._held_kg
        return self._held_kg + off * (1.0 - math.exp(-gap_s / self._calm_s))

    def _follow_zero(self, measured_kg: float, gap_s: float) -> None:
        off = measured_kg - self._zero_kg
        if self._tracks_zero and self.steady and abs(off) <= _ZERO_TRACK_DIVISIONS * self._division_kg:
            most = 0.5 * self._division_kg * gap_s
            self._zero_kg += max(-most, min(most, off))

"""What many scales' displays show line by line, and what a bad link leaves of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.batch_run import Signals, departure
from sim.conditions import Condition
from sim.draws import between
from sim.pan import STEP_S, Pans

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_JITTER = 0.03
_SILENCE_S = 2.0
_UNREADABLE = 0.8


@dataclass(frozen=True, slots=True)
class LineTable:
    """Lines of n scales, padded to one length; arrays of shape (n, lines).

    Attributes
    ----------
    pans : Pans
        The scales.
    line_s : Floats
        When each line is sent. [s]
    real : Flags
        Which are lines and not padding.
    arrived : Flags
        Which arrive: not in a silence.
    value_g : Floats
        What each line shows; NaN when damaged beyond reading. [g]
    steady : Flags
        The steady word.
    loaded_kg : Floats
        Unrounded output due to the part and what it bears. [kg]
    empty_kg : Floats
        Unrounded output of all the rest, noise and zero included. [kg]
    damage_g : Floats
        What the link adds to a value; NaN for beyond reading. [g]
    double : Flags
        Which lines come twice.
    """

    pans: Pans
    line_s: Floats
    real: Flags
    arrived: Flags
    value_g: Floats
    steady: Flags
    loaded_kg: Floats
    empty_kg: Floats
    damage_g: Floats
    double: Flags

    def of_row(self, row: int) -> tuple[Floats, Floats, Flags | None]:
        """Return the lines of one scale as they arrive.

        Parameters
        ----------
        row : int
            Which scale.

        Returns
        -------
        tuple[Floats, Floats, Flags | None]
            Times [s], values [g] and steady words; None for a scale without the word.
        """
        return self._arriving(row, self.value_g[row], self.steady[row], np.inf)

    def lifted(self, row: int, *, at_s: float, until_s: float) -> tuple[Floats, Floats, Flags | None]:
        """Return the lines of one scale when its part is lifted.

        Parameters
        ----------
        row : int
            Which scale.
        at_s : float
            When the fingers close. [s]
        until_s : float
            When to stop. [s]

        Returns
        -------
        tuple[Floats, Floats, Flags | None]
            As `of_row`; the same up to ``at_s``.
        """
        width_s = 0.08 + 0.12 * float((row * 0.6180339887) % 1.0)
        left = departure(self.pans, row, width_s=width_s, seconds=until_s - at_s + 1.0)
        since = np.rint((self.line_s[row] - at_s) / STEP_S).astype(np.int64)
        share = np.where(since < 0, 1.0, left[np.clip(since, 0, len(left) - 1)])
        output = self.empty_kg[row] + self.loaded_kg[row] * share
        value = _shown(self.pans, np.array([row]), self.line_s[[row]], output[None, :])[0] + self.damage_g[row]
        rest_s = 8.5 / float(self.pans.natural_rad_per_s[row] * self.pans.damping[row]) + float(self.pans.flag_s[row])
        late = self.line_s[row] - at_s
        steady: Flags = ((late < 0.0) & self.steady[row]) | (late > rest_s)
        return self._arriving(row, value, steady, until_s)

    def _arriving(self, row: int, value: Floats, steady: Flags, until_s: float) -> tuple[Floats, Floats, Flags | None]:
        keep = np.flatnonzero(self.arrived[row] & (self.line_s[row] <= until_s))
        keep = np.repeat(keep, np.where(self.double[row, keep], 2, 1))
        times = self.line_s[row, keep].copy()
        times[1:][keep[1:] == keep[:-1]] += 0.01
        return times, value[keep], steady[keep] if self.pans.flag_kind[row] != 0 else None


def show_lines(condition: Condition, pans: Pans, signals: Signals, rng: np.random.Generator) -> LineTable:
    """Turn the outputs of many scales into lines.

    Parameters
    ----------
    condition : Condition
        How bad the link is.
    pans : Pans
        The scales.
    signals : Signals
        Their outputs.
    rng : np.random.Generator
        Source of chance for the lines' moments, the noise and the link.

    Returns
    -------
    LineTable
        All lines.
    """
    steps, count = len(signals.part_kg), len(pans.rate_hz)
    rows: Ints = np.arange(count, dtype=np.int64)
    most = int(np.ceil(steps * STEP_S * float(pans.rate_hz.max()) * 1.1)) + 2
    gaps = (1.0 + _JITTER * rng.standard_normal((count, most))) / pans.rate_hz[:, None]
    gaps[:, 0] *= rng.random(count)
    at = np.rint(np.cumsum(gaps, axis=1) / STEP_S).astype(np.int64)
    real = at < steps
    at = np.minimum(at, steps - 1)
    line_s: Floats = at.astype(np.float64) * STEP_S
    loaded = (signals.part_kg[at, rows[:, None]] + signals.borne_kg[at, rows[:, None]]).astype(np.float64)
    noise = pans.noise_kg[:, None] * rng.standard_normal((count, most))
    empty = signals.empty_kg[at, rows[:, None]].astype(np.float64) + noise + pans.zero_kg[:, None]
    garbled = rng.random((count, most)) < between(rng, condition.garbled, count)[:, None]
    places = np.array([0.1, 1.0, 10.0, 100.0])[rng.integers(0, 4, (count, most))]
    wrong_digit: Floats = rng.integers(1, 10, (count, most)).astype(np.float64) * places
    beyond = rng.random((count, most)) < _UNREADABLE
    damage = np.where(garbled, np.where(beyond, np.nan, wrong_digit), 0.0)
    double = rng.random((count, most)) < between(rng, condition.doubled, count)[:, None]
    is_silent: Flags = rng.random(count) < condition.silent
    silent_from: Floats = np.full(count, np.inf)
    silent_from[is_silent] = between(rng, (0.0, steps * STEP_S), count)[is_silent]
    silent = (line_s >= silent_from[:, None]) & (line_s < silent_from[:, None] + _SILENCE_S)
    return LineTable(
        pans=pans,
        line_s=line_s,
        real=real,
        arrived=real & ~silent,
        value_g=_shown(pans, rows, line_s, loaded + empty) + damage,
        steady=signals.steady[at, rows[:, None]],
        loaded_kg=loaded,
        empty_kg=empty,
        damage_g=damage,
        double=double,
    )


def _shown(pans: Pans, rows: Ints, line_s: Floats, output_kg: Floats) -> Floats:
    # the same steps as in the live indicator, for many scales at once
    display_s, calm_s, band = pans.display_s[rows], pans.calm_s[rows], pans.dead_band_kg[rows]
    held = output_kg[:, 0].copy()
    fresh_s = line_s[:, 0].copy()
    shown = np.empty_like(output_kg)
    for line in range(output_kg.shape[1]):
        due = line_s[:, line] - fresh_s >= display_s - 1e-9
        measured = output_kg[:, line]
        if np.any(calm_s > 0.0):
            off = measured - held
            gap_s = np.maximum(line_s[:, line] - fresh_s, 1.0 / pans.rate_hz[rows])
            slow = held + off * (1.0 - np.exp(-gap_s / np.maximum(calm_s, 1e-6)))
            near = np.where(np.abs(off) <= band, held, slow)
            measured = np.where((calm_s > 0.0) & (np.abs(off) <= 3.0 * pans.division_kg), near, measured)
        held = np.where(due, measured, held)
        fresh_s = np.where(due, line_s[:, line], fresh_s)
        shown[:, line] = held
    result: Floats = np.rint(shown / pans.division_kg) * (pans.division_kg * 1000.0)
    return np.round(result, 3) + 0.0

"""How a scale answers a load: a damped spring and a moving average, stepped exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.conditions import Condition
from sim.draws import between

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

STEP_S = 0.004
"""Length of one step of every simulation. [s]"""

_SETTLED = 2e-4
_FLAG_NONE, _FLAG_FAIR, _FLAG_EARLY = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Pans:
    """The mechanics and the indicator of n scales; arrays of shape (n,).

    Attributes
    ----------
    division_kg : float
        Readability. [kg]
    natural_rad_per_s : NDArray
        Natural frequency. [rad/s]
    damping : NDArray
        Damping ratio.
    average_steps : NDArray
        Length of the moving average. [step]
    noise_kg : NDArray
        Electronic noise of one line. [kg]
    rate_hz : NDArray
        Lines a second. [1/s]
    display_s : NDArray
        How long the display keeps a value; 0 when every line is fresh. [s]
    dead_band_kg : NDArray
        How far the value must move before the display follows; 0 for none. [kg]
    calm_s : NDArray
        Averaging once nearly at rest; 0 for none. [s]
    zero_kg : NDArray
        What a fresh zero is off. [kg]
    flag_kind : NDArray
        0 no steady word, 1 fair, 2 too early.
    flag_s : NDArray
        How long the output must rest for the word. [s]
    flag_band_kg : NDArray
        Within which band. [kg]
    drift_kg_per_s : NDArray
        Wandering of the zero. [kg/s]
    creep : NDArray
        Part of the load by which the reading creeps.
    creep_s : NDArray
        Time constant of the creep. [s]
    """

    division_kg: float
    natural_rad_per_s: Floats
    damping: Floats
    average_steps: Ints
    noise_kg: Floats
    rate_hz: Floats
    display_s: Floats
    dead_band_kg: Floats
    calm_s: Floats
    zero_kg: Floats
    flag_kind: Ints
    flag_s: Floats
    flag_band_kg: Floats
    drift_kg_per_s: Floats
    creep: Floats
    creep_s: Floats

    def transition(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Return the exact step of the damped spring for a load held during the step.

        Returns
        -------
        tuple[NDArray, NDArray, NDArray, NDArray]
            What distance from rest and speed become: distance from distance, distance from speed, speed from
            distance, speed from speed.
        """
        omega, damping = self.natural_rad_per_s, self.damping
        fading = damping * omega
        turning = omega * np.sqrt(1.0 - damping * damping)
        shrink = np.exp(-fading * STEP_S)
        cosine, sine = np.cos(turning * STEP_S), np.sin(turning * STEP_S)
        ratio = fading / turning
        return (
            shrink * (cosine + ratio * sine),
            shrink * sine / turning,
            -shrink * omega * omega / turning * sine,
            shrink * (cosine - ratio * sine),
        )


def draw_pans(condition: Condition, count: int, rng: np.random.Generator) -> Pans:
    """Draw some scales.

    Parameters
    ----------
    condition : Condition
        Ranges to draw from.
    count : int
        How many.
    rng : np.random.Generator
        Source of chance.

    Returns
    -------
    Pans
        Their constants.
    """
    division = condition.division_kg
    damping = rng.uniform(0.6, 0.995, count)
    settle_s = between(rng, condition.settle_s, count)
    rate_hz = rng.choice(np.array(condition.rates_hz), count)
    slow = rng.random(count) < condition.slow_display
    sticky = rng.random(count) < condition.sticky_display
    flag_kind = rng.choice(3, count, p=condition.flags)
    early = flag_kind == _FLAG_EARLY
    sign = np.where(rng.random(count) < 0.5, -1.0, 1.0)
    return Pans(
        division_kg=division,
        natural_rad_per_s=-np.log(_SETTLED) / (damping * settle_s),
        damping=damping,
        average_steps=np.maximum(1, np.rint(between(rng, condition.average_s, count) / STEP_S)).astype(np.int64),
        noise_kg=between(rng, condition.noise_divisions, count) * division,
        rate_hz=rate_hz,
        display_s=np.where(slow, np.maximum(rng.uniform(0.25, 0.6, count), 1.5 / rate_hz), 0.0),
        dead_band_kg=np.where(sticky, 0.3 * division, 0.0),
        calm_s=np.where(sticky, rng.uniform(0.3, 0.8, count), 0.0),
        zero_kg=rng.uniform(-condition.zero_divisions, condition.zero_divisions, count) * division,
        flag_kind=flag_kind.astype(np.int64),
        flag_s=np.where(early, rng.uniform(0.10, 0.25, count), rng.uniform(0.5, 1.0, count)),
        flag_band_kg=np.where(early, rng.uniform(2.0, 5.0, count), 1.0) * division,
        drift_kg_per_s=between(rng, condition.drift_kg_per_s, count) * sign,
        creep=between(rng, condition.creep, count),
        creep_s=rng.uniform(5.0, 20.0, count),
    )


class LivePan:
    """One scale's mechanics, stepped in plain numbers for a live line.

    Parameters
    ----------
    pans : Pans
        Constants; the first of them is taken.
    """

    def __init__(self, pans: Pans) -> None:
        a, b, c, d = pans.transition()
        self._step = (float(a[0]), float(b[0]), float(c[0]), float(d[0]))
        self._length = int(pans.average_steps[0])
        self._ring = [0.0] * self._length
        self._next = 0
        self._sum = 0.0
        self._place = 0.0
        self._speed = 0.0
        self._creep, self._creep_step = float(pans.creep[0]), STEP_S / float(pans.creep_s[0])
        self._crept = 0.0

    def step(self, load_kg: float) -> float:
        """Go on by one step under a load.

        Parameters
        ----------
        load_kg : float
            Everything that presses on the pan. [kg]

        Returns
        -------
        float
            The filtered output. [kg]
        """
        self._crept += (self._creep * load_kg - self._crept) * self._creep_step
        load_kg += self._crept
        a, b, c, d = self._step
        off = self._place - load_kg
        self._place = load_kg + a * off + b * self._speed
        self._speed = c * off + d * self._speed
        self._sum += self._place - self._ring[self._next]
        self._ring[self._next] = self._place
        self._next += 1
        if self._next == self._length:
            self._next = 0
            self._sum = sum(self._ring)  # once a round, so that rounding never piles up
        return self._sum / self._length

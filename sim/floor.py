"""What shakes and blows on a pan: four lines of floor vibration, broadband shaking, slow moving air."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.conditions import Condition
from sim.draws import between

Floats = NDArray[np.float64]

GRAVITY_M_PER_S2 = 9.81
PAN_KG = 0.8
"""Mass of the pan itself, which the floor shakes too. [kg]"""

_LINES = 4
_BROADBAND_SHARE = 0.3
_BROADBAND_RAD_PER_S = 2.0 * np.pi * 7.0


@dataclass(frozen=True, slots=True)
class Floor:
    """Surroundings of n pans.

    Attributes
    ----------
    rad_per_s : NDArray
        Angular frequencies of the vibration's lines, shape (4, n). [rad/s]
    weightlessness : NDArray
        Amplitude of each line's acceleration over gravity, shape (4, n).
    phase_rad : NDArray
        Their phases, shape (4, n). [rad]
    broadband : NDArray
        Standard deviation of the broadband acceleration over gravity, shape (n,).
    swell_rad_per_s : NDArray
        How fast the strength comes and goes, shape (n,). [rad/s]
    draught_kg : NDArray
        Standard deviation of the air's push, shape (n,). [kg]
    draught_s : NDArray
        Its correlation time, shape (n,). [s]
    """

    rad_per_s: Floats
    weightlessness: Floats
    phase_rad: Floats
    broadband: Floats
    swell_rad_per_s: Floats
    draught_kg: Floats
    draught_s: Floats

    def shaking(self, at_s: float | Floats) -> Floats:
        """Return the steady lines' acceleration over gravity, swelling and fading.

        Parameters
        ----------
        at_s : float | Floats
            One moment for all pans, or a column of moments for one pan. [s]

        Returns
        -------
        NDArray
            Acceleration over gravity, for each pan or each moment.
        """
        total: Floats = self.weightlessness[0] * np.sin(self.rad_per_s[0] * at_s + self.phase_rad[0])
        for line in range(1, _LINES):
            total = total + self.weightlessness[line] * np.sin(self.rad_per_s[line] * at_s + self.phase_rad[line])
        result: Floats = total * self.swell(at_s)
        return result

    def swell(self, at_s: float | Floats) -> Floats:
        """Return how strong the shaking is just now, about 1.

        Parameters
        ----------
        at_s : float | Floats
            As for `shaking`. [s]

        Returns
        -------
        NDArray
            Factor on the strength.
        """
        result: Floats = 1.0 + 0.4 * np.sin(self.swell_rad_per_s * at_s + self.phase_rad[0])
        return result


def draw_floor(condition: Condition, count: int, rng: np.random.Generator) -> Floor:
    """Draw the surroundings of some pans.

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
    Floor
        Their floors and draughts.
    """
    velocity = between(rng, condition.shaking_m_per_s, count)
    frequency = np.exp(rng.uniform(np.log(1.0), np.log(30.0), (_LINES, count)))
    share = rng.dirichlet(np.ones(_LINES), count).T * (1.0 - _BROADBAND_SHARE)
    rad_per_s = 2.0 * np.pi * frequency
    amplitude = np.sqrt(2.0 * share) * velocity * rad_per_s / GRAVITY_M_PER_S2
    return Floor(
        rad_per_s=rad_per_s,
        weightlessness=amplitude,
        phase_rad=rng.uniform(0.0, 2.0 * np.pi, (_LINES, count)),
        broadband=np.sqrt(_BROADBAND_SHARE) * velocity * _BROADBAND_RAD_PER_S / GRAVITY_M_PER_S2,
        swell_rad_per_s=2.0 * np.pi * rng.uniform(0.05, 0.5, count),
        draught_kg=np.full(count, condition.draught_kg),
        draught_s=rng.uniform(0.3, 2.0, count),
    )

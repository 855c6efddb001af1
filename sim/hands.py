"""What hands do to a pan: laying, pressing, letting go, lingering, touching; and parts that rock or swing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.conditions import Condition

Floats = NDArray[np.float64]

_PUSHES = 4
_TREMORS = 3
_KICK_S = 0.06


@dataclass(frozen=True, slots=True)
class Hands:
    """How n parts are laid down. Times count from the first contact; all arrays end in n.

    Attributes
    ----------
    ramp_s : NDArray
        Time over which the load comes on. [s]
    off_s : NDArray
        When the hand has left for good. [s]
    push_s : NDArray
        When each push begins, shape (4, n). [s]
    push_width_s : NDArray
        How long it lasts, shape (4, n). [s]
    push_kg : NDArray
        How hard it is, 0 for none, shape (4, n). [kg]
    kick_kg : NDArray
        Jolt on letting go. [kg]
    linger_from_s : NDArray
        When the lingering begins. [s]
    linger_kg : NDArray
        Steady push or support of a lingering hand, 0 for none. [kg]
    tremor_kg : NDArray
        Unsteadiness of the lingering hand, shape (3, n). [kg]
    tremor_rad_per_s : NDArray
        Its frequencies, shape (3, n). [rad/s]
    rock_kg : NDArray
        First swing of a part that rocks, 0 for none. [kg]
    rock_rad_per_s : NDArray
        How fast it rocks. [rad/s]
    rock_fade_s : NDArray
        How fast it dies away. [s]
    touch_s : NDArray
        When the part is touched again. [s]
    touch_width_s : NDArray
        For how long. [s]
    touch_kg : NDArray
        How hard, 0 for not at all. [kg]
    """

    ramp_s: Floats
    off_s: Floats
    push_s: Floats
    push_width_s: Floats
    push_kg: Floats
    kick_kg: Floats
    linger_from_s: Floats
    linger_kg: Floats
    tremor_kg: Floats
    tremor_rad_per_s: Floats
    rock_kg: Floats
    rock_rad_per_s: Floats
    rock_fade_s: Floats
    touch_s: Floats
    touch_width_s: Floats
    touch_kg: Floats

    def resting(self, since_s: Floats) -> Floats:
        """Return which part of the load the pan carries.

        Parameters
        ----------
        since_s : Floats
            Time since first contact. [s]

        Returns
        -------
        NDArray
            0 before, 1 when all of it rests.
        """
        return ramp(since_s, self.ramp_s)

    def force_kg(self, since_s: Floats) -> Floats:
        """Return what hand and rocking add to the load.

        Parameters
        ----------
        since_s : Floats
            Time since first contact, broadcast against n. [s]

        Returns
        -------
        NDArray
            Apparent mass. [kg]
        """
        total = 0.0 * since_s + 0.0 * self.ramp_s
        if np.any(since_s <= np.max(self.off_s) + _KICK_S):  # a hand may still be there
            total = total + self._handling(since_s)
        if np.any(self.rock_kg):
            swing = np.maximum(since_s - self.off_s, 0.0)
            total = total + self.rock_kg * np.sin(self.rock_rad_per_s * swing) * np.exp(-swing / self.rock_fade_s)
        if np.any(self.touch_kg):
            total = total + self.touch_kg * _bump(since_s, self.touch_s, self.touch_width_s)
        result: Floats = total
        return result

    def _handling(self, since_s: Floats) -> Floats:
        total = _bump(since_s, self.off_s, _KICK_S) * self.kick_kg
        for push in range(_PUSHES):
            total = total + self.push_kg[push] * _bump(since_s, self.push_s[push], self.push_width_s[push])
        if not np.any(self.linger_kg):
            return total
        tremor: Floats = self.linger_kg + 0.0 * since_s
        for part in range(_TREMORS):
            tremor = tremor + self.tremor_kg[part] * np.sin(self.tremor_rad_per_s[part] * since_s + 1.7 * part)
        lingering = ramp(since_s - self.linger_from_s, 0.05) * (1.0 - ramp(since_s - self.off_s + 0.05, 0.05))
        result: Floats = total + tremor * lingering * (self.linger_kg != 0.0)
        return result


def ramp(since_s: Floats, width_s: Floats | float) -> Floats:
    """Return a smooth rise from 0 to 1.

    Parameters
    ----------
    since_s : Floats
        Time since it began. [s]
    width_s : Floats | float
        How long it takes. [s]

    Returns
    -------
    NDArray
        Between 0 and 1.
    """
    part = np.clip(since_s / width_s, 0.0, 1.0)
    result: Floats = part * part * (3.0 - 2.0 * part)
    return result


def _bump(since_s: Floats, begin_s: Floats, width_s: Floats | float) -> Floats:
    part = np.clip((since_s - begin_s) / width_s, 0.0, 1.0)
    result: Floats = np.sin(np.pi * part) ** 2
    return result


def draw_hands(
    condition: Condition, mass_kg: Floats, rng: np.random.Generator, *, hung: NDArray[np.bool_] | None = None
) -> Hands:
    """Draw how some parts are laid down; small parts are touched more softly.

    Parameters
    ----------
    condition : Condition
        Shares of lingering, rocking and touching.
    mass_kg : Floats
        Masses of the parts, shape (n,). [kg]
    rng : np.random.Generator
        Source of chance.
    hung : NDArray[np.bool_] | None
        Which parts hang by one end and swing; None for none of them.

    Returns
    -------
    Hands
        One laying for each part.
    """
    n = len(mass_kg)
    soft = np.clip(mass_kg / 0.5, 0.01, 1.0)
    ramp_s = rng.uniform(0.05, 0.4, n)
    stay_s = np.clip(0.5 * np.exp(0.7 * rng.standard_normal(n)), 0.12, 2.5)
    hand_end = ramp_s + stay_s
    pushes = rng.integers(1, _PUSHES + 1, n)
    push_width = np.minimum(rng.uniform(0.08, 0.3, (_PUSHES, n)), stay_s)
    push_at = ramp_s * 0.5 + rng.uniform(0.0, 1.0, (_PUSHES, n)) * (hand_end - ramp_s * 0.5 - push_width)
    push_kg = rng.uniform(0.03, 0.4, (_PUSHES, n)) * soft * np.where(rng.random((_PUSHES, n)) < 0.75, 1.0, -0.5)
    push_kg = np.where(np.arange(_PUSHES)[:, None] < pushes, push_kg, 0.0)
    lingers = rng.random(n) < condition.lingering
    linger_kg = np.exp(rng.uniform(np.log(0.001), np.log(0.03), n)) * soft * np.where(rng.random(n) < 0.5, 1.0, -1.0)
    linger_kg = np.where(lingers, linger_kg, 0.0)
    unsteady = (rng.uniform(0.02, 0.08, n) * np.abs(linger_kg) + 0.03e-3) * np.sqrt(2.0 / _TREMORS)
    linger_s = rng.uniform(0.5, 3.0, n)
    rocks = rng.random(n) < condition.rocking
    rock_kg = np.where(rocks, rng.uniform(0.002, 0.06, n) * soft, 0.0)
    rock_hz, rock_fade = rng.uniform(1.5, 6.0, n), rng.uniform(0.2, 0.8, n)
    swing_kg, swing_hz, swing_fade = rng.uniform(0.002, 0.010, n), rng.uniform(1.1, 1.6, n), rng.uniform(0.4, 1.0, n)
    if hung is not None:
        rock_kg = np.where(hung, swing_kg, rock_kg)
        rock_hz = np.where(hung, swing_hz, rock_hz)
        rock_fade = np.where(hung, swing_fade, rock_fade)
    touches = rng.random(n) < condition.touching
    return Hands(
        ramp_s=ramp_s,
        off_s=hand_end + np.where(lingers, linger_s, 0.0),
        push_s=push_at,
        push_width_s=push_width,
        push_kg=push_kg,
        kick_kg=rng.uniform(-0.06, 0.03, n) * soft,
        linger_from_s=hand_end,
        linger_kg=linger_kg,
        tremor_kg=np.broadcast_to(unsteady, (_TREMORS, n)) * rng.uniform(0.7, 1.3, (_TREMORS, n)),
        tremor_rad_per_s=2.0 * np.pi * rng.uniform(0.5, 6.0, (_TREMORS, n)),
        rock_kg=rock_kg,
        rock_rad_per_s=2.0 * np.pi * rock_hz,
        rock_fade_s=rock_fade,
        touch_s=hand_end + np.where(lingers, linger_s, 0.0) + rng.uniform(1.5, 8.0, n),
        touch_width_s=rng.uniform(0.2, 0.5, n),
        touch_kg=np.where(touches, rng.uniform(0.01, 0.1, n) * soft, 0.0),
    )

"""Many scales stepped together: part and hand, load-borne shaking, and everything without a part, each on its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.floor import PAN_KG, Floor
from sim.hands import Hands
from sim.pan import STEP_S, Pans

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Singles = NDArray[np.float32]

_ANCHOR_PULL = 0.01
_SETTLED_FOR_S = 1.0


@dataclass(frozen=True, slots=True)
class Signals:
    """Filtered outputs of n scales at every step; arrays of shape (steps, n).

    Attributes
    ----------
    part_kg : Singles
        What part and hand do, without noise. [kg]
    borne_kg : Singles
        What the load adds to the disturbance: the floor shaking it, its creep. [kg]
    empty_kg : Singles
        What is there without a part: the floor shaking the pan, air, drift. [kg]
    steady : Flags
        Whether the output has rested as long as the steady word asks for.
    """

    part_kg: Singles
    borne_kg: Singles
    empty_kg: Singles
    steady: Flags

    def settled_s(self, mass_kg: Floats, on_s: Floats, division_kg: float) -> Floats:
        """Return when each part is truly settled.

        Parameters
        ----------
        mass_kg : Floats
            True masses, shape (n,). [kg]
        on_s : Floats
            First contacts, shape (n,). [s]
        division_kg : float
            Readability. [kg]

        Returns
        -------
        Floats
            Moment from which the noise-free output stays within half a division for a second; NaN for never. [s]
        """
        steps = np.arange(len(self.part_kg), dtype=np.int64)[:, None]
        out = np.abs(self.part_kg - mass_kg) > division_kg / 2
        out |= steps * STEP_S < on_s
        last_out = np.maximum.accumulate(np.where(out, steps, -1), axis=0)
        long_enough = steps - last_out >= round(_SETTLED_FOR_S / STEP_S)
        first = np.argmax(long_enough, axis=0)
        began = last_out[first, np.arange(len(mass_kg))] + 1
        return np.where(long_enough.any(axis=0), began * STEP_S, np.nan)


def run_batch(
    pans: Pans,
    floor: Floor,
    hands: Hands,
    mass_kg: Floats,
    *,
    on_s: Floats,
    end_s: float,
    rng: np.random.Generator,
) -> Signals:
    """Lay one part on each of many scales and let it stay.

    Parameters
    ----------
    pans : Pans
        The scales.
    floor : Floor
        Their surroundings.
    hands : Hands
        How each part is laid.
    mass_kg : Floats
        True masses. [kg]
    on_s : Floats
        First contacts. [s]
    end_s : float
        When to stop. [s]
    rng : np.random.Generator
        Source of chance for shaking and air.

    Returns
    -------
    Signals
        Filtered outputs of every step.
    """
    count, steps = len(mass_kg), round(end_s / STEP_S)
    shape = (steps, count)
    kept = Signals(
        np.empty(shape, dtype=np.float32),
        np.empty(shape, dtype=np.float32),
        np.empty(shape, dtype=np.float32),
        np.empty(shape, dtype=np.bool_),
    )
    a, b, c, d = pans.transition()
    longest = int(pans.average_steps.max())
    columns = np.arange(count)
    ring = np.zeros((longest, 3, count))
    place, speed, total = np.zeros((3, count)), np.zeros((3, count)), np.zeros((3, count))
    load = np.empty((3, count))
    blow, crept, anchor, rested = np.zeros(count), np.zeros(count), np.zeros(count), np.zeros(count)
    keep = np.exp(-STEP_S / floor.draught_s)
    fresh = floor.draught_kg * np.sqrt(1.0 - keep * keep)
    creep_step = STEP_S / pans.creep_s
    blows = bool(np.any(floor.draught_kg > 0.0))
    for step in range(steps):
        at_s = step * STEP_S
        since = at_s - on_s
        load[0] = hands.resting(since) * mass_kg + hands.force_kg(since) * (since >= 0.0)
        crept += (pans.creep * load[0] - crept) * creep_step
        shaking = floor.shaking(at_s) + rng.standard_normal(count) * floor.broadband * floor.swell(at_s)
        if blows:
            blow = keep * blow + fresh * rng.standard_normal(count)
        load[1] = shaking * load[0] + crept
        load[2] = shaking * PAN_KG + blow + pans.drift_kg_per_s * at_s
        off = place - load
        place = load + a * off + b * speed
        speed = c * off + d * speed
        oldest = (step - pans.average_steps) % longest
        total += place - ring[oldest, :, columns].T
        ring[step % longest] = place
        output = total / pans.average_steps
        kept.part_kg[step], kept.borne_kg[step], kept.empty_kg[step] = output
        whole: Floats = output[0] + output[1] + output[2]
        away = whole - anchor
        rests = np.abs(away) <= pans.flag_band_kg / 2
        rested = np.where(rests, rested + STEP_S, 0.0)
        anchor = np.where(rests, anchor + _ANCHOR_PULL * away, whole)
        kept.steady[step] = rested >= pans.flag_s
    return kept


def departure(pans: Pans, row: int, *, width_s: float, seconds: float) -> Floats:
    """Return which part of a resting load a scale still shows after the fingers have closed on it.

    Parameters
    ----------
    pans : Pans
        The scales.
    row : int
        Which of them.
    width_s : float
        How long the lifting takes. [s]
    seconds : float
        For how long. [s]

    Returns
    -------
    Floats
        From 1 to about 0, one value a step.
    """
    steps = round(seconds / STEP_S)
    part = np.clip(np.arange(steps) * STEP_S / width_s, 0.0, 1.0)
    load = (1.0 - part * part * (3.0 - 2.0 * part)).tolist()
    a, b, c, d = (float(x[row]) for x in pans.transition())
    length = int(pans.average_steps[row])
    place, speed = 1.0, 0.0
    raw = [1.0] * length
    for pull in load:
        off = place - pull
        place, speed = pull + a * off + b * speed, c * off + d * speed
        raw.append(place)
    summed = np.cumsum(np.array([0.0, *raw]))
    result: Floats = (summed[length + 1 :] - summed[1:-length]) / length
    return result

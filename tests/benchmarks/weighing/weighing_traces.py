"""Traces of single placements: scale, floor, air and hands of the simulator, drawn for the twelve conditions.

Ten placements share one scale, so that a rule can learn from it as it would at a bench. A placement can be made twice
with the same chance, once lying for as long as anyone may wait and once lifted at a given moment.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, minimum_filter1d
from scipy.signal import lfilter

from sim.conditions import Condition, condition_named
from sim.floor import PAN_KG, Floor, draw_floor
from sim.hands import Hands, draw_hands, ramp
from sim.pan import STEP_S, Pans, draw_pans

Floats = NDArray[np.float64]

PER_SCALE = 10
LEAD_IN_S = 20.0
LONGEST_S = 16.0
TAIL_S = 1.6
KIND_RANGES_G = {
    "piston": (350.0, 560.0),
    "pin": (90.0, 150.0),
    "rings": (35.0, 60.0),
    "locks": (1.0, 2.2),
    "rod_whole": (480.0, 720.0),
    "rod_small_end": (150.0, 230.0),
    "rod_bearings": (30.0, 55.0),
}
KIND_WEIGHTS = (8, 8, 8, 16, 8, 8, 8)


@dataclass(frozen=True, slots=True)
class Line:
    """One line on the wire: arrival in s, value in divisions, steady word, damaged or not."""

    at_s: float
    steps: int
    steady: bool | None
    damaged: bool = False


@dataclass(frozen=True, slots=True)
class Placement:
    """What is true about a placement, in grams and seconds of its own time."""

    kind: str
    mass_g: float
    members_g: tuple[float, ...]
    contact_s: float
    off_s: float
    settled_s: float
    lingers: bool


class Bench:
    """One scale in one surrounding with the parts that will be laid on it."""

    def __init__(self, condition: Condition, seed: int, number: int, *, rate_hz: float | None = None) -> None:
        self._seed = (seed, number)
        rng = np.random.default_rng([*self._seed, 1])
        if rate_hz is not None:
            condition = replace(condition, rates_hz=(rate_hz,))
        self.condition = condition
        self.pans: Pans = draw_pans(condition, 1, rng)
        self.floor: Floor = draw_floor(condition, 1, rng)
        self.division_g = self.pans.division_kg * 1000.0
        self.garbled = rng.uniform(*condition.garbled)
        self.doubled = rng.uniform(*condition.doubled)
        kinds = list(KIND_RANGES_G)
        weights = np.array(KIND_WEIGHTS) / sum(KIND_WEIGHTS)
        self.kinds = [kinds[i] for i in rng.choice(len(kinds), PER_SCALE, p=weights)]
        mass, members = [], []
        for kind in self.kinds:
            middle = rng.uniform(*KIND_RANGES_G[kind])
            spread = max(0.0015 * middle, 0.15, 1.5 * self.division_g) if middle > 5 else 0.02
            mass.append(max(0.5, middle + spread * float(np.clip(rng.standard_normal(), -3, 3))))
            known = rng.random() >= 0.125
            members.append(tuple(middle + spread * rng.standard_normal(7)) if known else ())
        self.mass_g, self.members_g = mass, members
        hung = np.array([k == "rod_small_end" for k in self.kinds]) & (condition.rocking > 0)
        self.hands: Hands = draw_hands(condition, np.array(mass) / 1000.0, rng, hung=hung)
        self.gap_s = rng.uniform(2.0, 3.5, PER_SCALE)
        self.gap_s[0] += LEAD_IN_S

    def _hand(self, number: int) -> Hands:
        fields = {name: getattr(self.hands, name)[..., number : number + 1] for name in Hands.__dataclass_fields__}
        return Hands(**fields)

    def make(self, number: int, *, lifted_s: float | None = None) -> tuple[list[Line], Placement]:
        """Return the lines of a placement and what is true about it."""
        rng = np.random.default_rng([*self._seed, 2, number])
        gap = float(self.gap_s[number])
        mass_kg = self.mass_g[number] / 1000.0
        count = round((gap + LONGEST_S + TAIL_S) / STEP_S)
        at = np.arange(count) * STEP_S
        hand = self._hand(number)
        since = at - gap
        pressed = hand.resting(since) * mass_kg + np.where(since >= 0, hand.force_kg(since), 0.0)
        shown_noise = rng.standard_normal(count)
        broadband = rng.standard_normal(count) * float(self.floor.broadband[0])
        gusts = rng.standard_normal(count)
        line_chance = rng.random((4, count))
        silence = gap + rng.uniform(0.3, 4.0) if rng.random() < self.condition.silent else -1.0
        clean = self._spring(pressed)
        settled = self._settled(clean, at, gap, mass_kg)
        load = pressed
        if lifted_s is not None:
            after = at - lifted_s
            grip = float(rng.uniform(0.0, 0.08)) * min(1.0, mass_kg / 0.5)
            up = ramp(after - 0.06, float(rng.uniform(0.06, 0.25)))
            load = load * (1.0 - up) + grip * np.sin(np.pi * np.clip(after / 0.12, 0.0, 1.0)) ** 2
        else:
            rng.uniform(0.0, 1.0, 2)
        clock = at + 97.0 * number
        swell = self.floor.swell(clock[:, None])[:, 0]
        shaking = self.floor.shaking(clock[:, None])[:, 0] + broadband * swell
        keep = float(np.exp(-STEP_S / self.floor.draught_s[0]))
        scale = float(self.floor.draught_kg[0]) * np.sqrt(1.0 - keep * keep)
        air = lfilter([scale], [1.0, -keep], gusts)
        share = STEP_S / float(self.pans.creep_s[0])
        crept = lfilter([share * float(self.pans.creep[0])], [1.0, share - 1.0], load)
        drift = float(self.pans.drift_kg_per_s[0]) * (at + 9.0 * number)
        output = self._spring(load + crept + shaking * (PAN_KG + load) + air + drift)
        until = at[-1] if lifted_s is None else min(at[-1], lifted_s + TAIL_S)
        lines = self._lines(output, rng, shown_noise, line_chance, until, silence)
        truth = Placement(
            kind=self.kinds[number],
            mass_g=self.mass_g[number],
            members_g=self.members_g[number],
            contact_s=gap,
            off_s=gap + float(hand.off_s[0]),
            settled_s=settled,
            lingers=bool(hand.linger_kg[0] != 0.0),
        )
        return lines, truth

    def _spring(self, load: Floats) -> Floats:
        a, b, c, d = (float(x[0]) for x in self.pans.transition())
        start = load[0]
        moved = lfilter([0.0, 1.0 - a, -(1.0 - a) * d - b * c], [1.0, -(a + d), a * d - b * c], load - start) + start
        n = int(self.pans.average_steps[0])
        total = np.cumsum(np.concatenate((np.full(n, moved[0]), moved)))
        return (total[n:] - total[:-n]) / n

    def _settled(self, clean: Floats, at: Floats, gap: float, mass_kg: float) -> float:
        near = np.abs(clean - mass_kg) <= 0.5 * self.pans.division_kg
        run = 0
        need = round(1.0 / STEP_S)
        for index in range(int(gap / STEP_S), len(at)):
            run = run + 1 if near[index] else 0
            if run >= need:
                return float(at[index - need + 1])
        return float(at[-1])

    def _lines(
        self, output: Floats, rng: np.random.Generator, noise: Floats, chance: Floats, until: float, silence: float
    ) -> list[Line]:
        pans, d = self.pans, self.pans.division_kg
        gap = 1.0 / float(pans.rate_hz[0])
        jitter = 1.0 + 0.03 * np.random.default_rng([*self._seed, 3]).standard_normal(len(output))
        phase = float(chance[0, 0]) * gap
        moments = phase + np.cumsum(gap * jitter[: int(until / gap * 1.2) + 5])
        moments = moments[moments < until]
        index = np.minimum((moments / STEP_S).astype(int), len(output) - 1)
        values = output[index] + noise[index] * float(pans.noise_kg[0]) + float(pans.zero_kg[0])
        values = self._displayed(values, moments, gap)
        steps = np.rint(values / d).astype(int)
        steady: list[bool] | None = None
        if int(pans.flag_kind[0]) != 0:
            width = max(1, round(float(pans.flag_s[0]) / STEP_S))
            high = maximum_filter1d(output, width, origin=(width - 1) // 2)
            low = minimum_filter1d(output, width, origin=(width - 1) // 2)
            steady = list((high - low)[index] <= float(pans.flag_band_kg[0]))
        lines: list[Line] = []
        for k, moment in enumerate(moments):
            if silence <= moment < silence + 2.0:
                continue
            flag = None if steady is None else bool(steady[k])
            value = int(steps[k])
            i = int(index[k])
            if chance[1, i] < self.garbled:
                if chance[2, i] < 0.85:
                    lines.append(Line(float(moment), value, flag, damaged=True))
                    continue
                value += int(10 ** int(1 + 3 * chance[3, i])) * (1 if chance[3, i] < 0.5 else -1)
            lines.append(Line(float(moment), value, flag))
            if chance[3, i] < self.doubled:
                lines.append(Line(float(moment) + 0.004, value, flag))
        del rng
        return lines

    def _displayed(self, values: Floats, moments: Floats, gap: float) -> Floats:
        pans, d = self.pans, self.pans.division_kg
        hold, calm, band = float(pans.display_s[0]), float(pans.calm_s[0]), float(pans.dead_band_kg[0])
        if hold <= 0.0 and calm <= 0.0:
            return values
        shown = np.empty_like(values)
        fresh, held = -1e9, float(values[0])
        for k, value in enumerate(values):
            if moments[k] - fresh >= hold:
                fresh = float(moments[k])
                off = float(value) - held
                if calm <= 0.0 or abs(off) > 3.0 * d:
                    held = float(value)
                elif abs(off) > band:
                    held += off * (1.0 - np.exp(-max(gap, hold) / calm))
            shown[k] = held
        return shown


def bench(name: str, seed: int, number: int, *, rate_hz: float | None = None) -> Bench:
    """Return one of the benches of a condition."""
    return Bench(condition_named(name), seed, number, rate_hz=rate_hz)

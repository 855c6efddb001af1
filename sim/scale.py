"""A whole scale: what presses on the pan, its mechanics, its indicator, and the moments at which lines are sent."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sim.conditions import Condition
from sim.floor import PAN_KG, draw_floor
from sim.hands import draw_hands, ramp
from sim.indicator import Indicator, Shown
from sim.pan import STEP_S, LivePan, draw_pans

_BLOCK = 250
_LONGEST_LAYING_S = 16.0


class Scale:
    """One live scale with its own time, which goes on in steps of `STEP_S`.

    Parameters
    ----------
    condition : Condition
        Surroundings to draw from.
    rng : np.random.Generator
        Source of chance; streams of its own are split off it.
    tracks_zero : bool
        Whether the scale follows a slowly wandering zero by itself.
    """

    def __init__(self, condition: Condition, rng: np.random.Generator, *, tracks_zero: bool = True) -> None:
        drawing, self._air, self._touch, showing, self._lines = rng.spawn(5)
        self.condition = condition
        pans = draw_pans(condition, 1, drawing)
        self._floor = draw_floor(condition, 1, drawing)
        self._pan = LivePan(pans)
        self.indicator = Indicator(pans, showing, tracks_zero=tracks_zero)
        self._gap_s = 1.0 / float(pans.rate_hz[0])
        self._drift_kg_per_s = float(pans.drift_kg_per_s[0])
        self._step = 0
        self._line_step = 1
        self._resting_kg = 0.0
        self._profiles: list[tuple[int, NDArray[np.float64]]] = []
        self._shaking: list[float] = []
        self._blowing: list[float] = []
        self._blow_kg = 0.0
        self.shown = Shown(0.0, 1, "g", steady=False)

    @property
    def now_s(self) -> float:
        """The scale's own time, in seconds."""
        return self._step * STEP_S

    @property
    def next_line_s(self) -> float:
        """When the next line is due, in seconds."""
        return self._line_step * STEP_S

    @property
    def load_kg(self) -> float:
        """What lies on the pan without hands, in kilograms."""
        return self._resting_kg

    def lay(self, mass_kg: float, *, hung: bool = False, gently: bool = False) -> float:
        """Lay a part on the pan, as hands do.

        Parameters
        ----------
        mass_kg : float
            Its mass; negative to take it off what lies there. [kg]
        hung : bool
            Whether it hangs by one end and swings.
        gently : bool
            Whether it is small and dropped on without pressing.

        Returns
        -------
        float
            How long until the hand has left. [s]
        """
        hands = draw_hands(
            self.condition, np.array([max(abs(mass_kg), 0.001)]), self._touch, hung=np.array([hung], dtype=np.bool_)
        )
        since = np.arange(0.0, _LONGEST_LAYING_S, STEP_S)[:, None]
        if gently:
            load = ramp(since[:, 0], 0.08) * mass_kg
            off_s = 0.15
        else:
            load = (hands.resting(since) * mass_kg + hands.force_kg(since))[:, 0]
            off_s = float(hands.off_s[0])
        self._push(load, mass_kg)
        return off_s

    def lift(self, mass_kg: float | None = None) -> None:
        """Take off a part, or everything.

        Parameters
        ----------
        mass_kg : float | None
            What is taken; None for all that lies there. [kg]
        """
        mass_kg = self._resting_kg if mass_kg is None else mass_kg
        since = np.arange(0.0, 0.6, STEP_S)
        grip_kg = float(self._touch.uniform(0.0, 0.08)) * min(1.0, abs(mass_kg) / 0.5)
        grip = grip_kg * np.sin(np.pi * np.clip(since / 0.12, 0.0, 1.0)) ** 2
        width_s = float(self._touch.uniform(0.06, 0.25))
        self._push(grip - mass_kg * ramp(since - 0.06, width_s), -mass_kg)

    def touch(self, push_kg: float) -> None:
        """Touch what lies on the pan for a moment.

        Parameters
        ----------
        push_kg : float
            How hard. [kg]
        """
        since = np.arange(0.0, 0.4, STEP_S)
        self._push(push_kg * np.sin(np.pi * since / 0.4) ** 2, 0.0)

    def advance(self) -> Shown | None:
        """Go on by one step.

        Returns
        -------
        Shown | None
            What a line sent now shows; None when no line is due.
        """
        if not self._shaking:
            self._fill_block()
        load = self._resting_kg
        if self._profiles:
            for begun, profile in self._profiles:
                load += float(profile[self._step - begun])
            self._profiles = [(b, p) for b, p in self._profiles if self._step - b + 1 < len(p)]
        load += self._shaking.pop() * (PAN_KG + load) + self._blowing.pop()
        load += self._drift_kg_per_s * self.now_s
        self.indicator.see(self._pan.step(load))
        self._step += 1
        if self._step < self._line_step:
            return None
        jitter = 1.0 + 0.03 * float(self._lines.standard_normal())
        self._line_step = self._step + max(1, round(self._gap_s * jitter / STEP_S))
        self.shown = self.indicator.line(self.now_s)
        return self.shown

    def _push(self, load: NDArray[np.float64], final_kg: float) -> None:
        # a profile tells the way; what rests at its end is counted at once and taken off the profile
        self._profiles.append((self._step, load - final_kg))
        self._resting_kg += final_kg

    def _fill_block(self) -> None:
        at_s = np.arange(self._step, self._step + _BLOCK, dtype=np.float64)[:, None] * STEP_S
        noise = self._air.standard_normal(_BLOCK) * float(self._floor.broadband[0])
        shaking = self._floor.shaking(at_s)[:, 0] + noise * self._floor.swell(at_s)[:, 0]
        keep = float(np.exp(-STEP_S / self._floor.draught_s[0]))
        fresh = self._air.standard_normal(_BLOCK) * float(self._floor.draught_kg[0]) * np.sqrt(1.0 - keep * keep)
        blowing: list[float] = []
        for gust in fresh.tolist():
            self._blow_kg = keep * self._blow_kg + gust
            blowing.append(self._blow_kg)
        self._shaking = shaking.tolist()[::-1]
        self._blowing = blowing[::-1]

"""Making bobweights: a body, then shims and washers added and taken off until the scale shows the target."""

from __future__ import annotations

from collections.abc import Callable, Generator

import numpy as np

from sim.scale import Scale

_NEAR_G = 0.05 + 1e-6
_CALM_G = 0.15
_TRIES = 40
_LOOKS = 8
_LONG_LOOKS = 32
_FLICKERS_G = 0.25


class Bobweights:
    """The bobweights of a shop, finished and unfinished.

    Parameters
    ----------
    finished_kg : dict[int, float]
        True mass of each finished one; grows as they are finished. [kg]
    rng : np.random.Generator
        Source of chance: bodies and shims.
    saved : Callable[[], None]
        Called when one is finished.
    """

    def __init__(self, finished_kg: dict[int, float], rng: np.random.Generator, saved: Callable[[], None]) -> None:
        self._finished_kg = finished_kg
        self._rng = rng
        self._saved = saved
        self._bodies_kg: dict[int, float] = {}
        self.on_pan: int | None = None

    def begin(self, throw: int, target_kg: float) -> float:
        """Take the bobweight of a throw in hand: the finished one, the half-finished one, or a new body.

        Parameters
        ----------
        throw : int
            Number of the throw.
        target_kg : float
            What it shall weigh. [kg]

        Returns
        -------
        float
            What it weighs now. [kg]
        """
        known = self._finished_kg.get(throw, self._bodies_kg.get(throw))
        if known is None:
            known = target_kg - float(self._rng.uniform(0.02, 0.06))
        self._bodies_kg[throw] = known
        self.on_pan = throw
        return known

    def bring_to(
        self, throw: int, target_g: float, scale: Scale, *, heard: Callable[[], bool] = lambda: False
    ) -> Generator[float, None, None]:
        """Add and take off until the display shows the target to half a division, in the middle of its flicker.

        Parameters
        ----------
        throw : int
            Number of the throw, which lies on the pan.
        target_g : float
            What the display shall show. [g]
        scale : Scale
            The scale it lies on.
        heard : Callable[[], bool]
            Whether the tone was heard meanwhile: then it is left as it is.

        Yields
        ------
        float
            Times to wait. [s]
        """
        for _ in range(_TRIES):
            yield from self._wait_for_calm(scale)
            value = yield from self.read(scale)
            if heard():
                return
            if value is None:
                continue
            missing_g = target_g - value
            if abs(missing_g) <= _NEAR_G:
                return
            yield from self.change(throw, self._shims_kg(missing_g), scale)

    @staticmethod
    def read(scale: Scale) -> Generator[float, None, float | None]:
        """Read a display as a person does, who takes the middle of its flicker.

        Parameters
        ----------
        scale : Scale
            The scale.

        Yields
        ------
        float
            Times to wait. [s]

        Returns
        -------
        float or None
            What it shows; None when that is no weight in grams. [g]
        """
        # the more it flickers, the longer it is looked at
        seen: list[float] = []
        while len(seen) < _LOOKS or (len(seen) < _LONG_LOOKS and max(seen) - min(seen) > _FLICKERS_G):
            yield 0.25
            if scale.shown.value is None or scale.shown.unit != "g":
                return None
            seen.append(scale.shown.value)
        return sum(seen) / len(seen)

    def change(self, throw: int, added_kg: float, scale: Scale) -> Generator[float, None, None]:
        """Add shims, or take some off.

        Parameters
        ----------
        throw : int
            Number of the throw, which lies on the pan.
        added_kg : float
            How much; negative to take off. [kg]
        scale : Scale
            The scale it lies on.

        Yields
        ------
        float
            Times to wait. [s]
        """
        yield float(self._rng.uniform(0.5, 1.5))
        self._bodies_kg[throw] += added_kg
        yield scale.lay(added_kg, gently=True)

    def set_aside(self, name: str) -> None:
        """Take note that something has left the pan: a bobweight that leaves it is finished.

        Parameters
        ----------
        name : str
            What has left.
        """
        if self.on_pan is None or name != f"bobweight {self.on_pan}":
            return
        self._finished_kg[self.on_pan] = self._bodies_kg[self.on_pan]
        self.on_pan = None
        self._saved()

    def _shims_kg(self, missing_g: float) -> float:
        # what is picked and filed is near to what is missing, not equal to it
        scatter = 0.01 * abs(missing_g) + 0.015
        return (missing_g + scatter * float(self._rng.standard_normal())) / 1000.0

    def _wait_for_calm(self, scale: Scale) -> Generator[float, None, None]:
        seen: list[float] = []
        for _ in range(30):
            yield 0.25
            value = scale.shown.value
            seen.append(float("inf") if value is None else value)
            last = seen[-5:]
            if len(last) == 5 and max(last) - min(last) <= _CALM_G:
                return

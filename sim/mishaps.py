"""What goes wrong when parts are laid: drawn at a given rate, each kind by its share."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np


class Mishap(StrEnum):
    """One way in which a laying goes wrong."""

    WRONG_PART = "wrong part"
    TWO_AT_ONCE = "two at once"
    SAME_AGAIN = "same again"
    EARLY_LIFT = "early lift"
    TARE_KEY = "tare key with the part on"
    UNIT_KEY = "unit key"
    UNPLUG = "unplug"


SHARES: dict[Mishap, float] = {
    Mishap.WRONG_PART: 0.25,
    Mishap.TWO_AT_ONCE: 0.12,
    Mishap.SAME_AGAIN: 0.15,
    Mishap.EARLY_LIFT: 0.20,
    Mishap.TARE_KEY: 0.08,
    Mishap.UNIT_KEY: 0.08,
    Mishap.UNPLUG: 0.12,
}


@dataclass(slots=True)
class Mishaps:
    """Decides which laying goes wrong, and how.

    Attributes
    ----------
    rate : float
        Share of layings with a mishap.
    rng : np.random.Generator
        Source of chance.
    only : tuple[Mishap, ...]
        Kinds that may happen.
    """

    rate: float
    rng: np.random.Generator
    only: tuple[Mishap, ...] = field(default_factory=lambda: tuple(SHARES))

    def draw(self) -> Mishap | None:
        """Decide about one laying.

        Returns
        -------
        Mishap | None
            What goes wrong; None when nothing does.
        """
        if float(self.rng.random()) >= self.rate:
            return None
        shares = np.array([SHARES[kind] for kind in self.only])
        return self.only[int(self.rng.choice(len(self.only), p=shares / shares.sum()))]

"""The three demo worlds: a rescue boat's V8, a pump's V6 and a single flywheel. Invented, and repeatable by seed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.crank import V6_CRANK, V8_CRANK, Crank, build_crank, build_flywheel
from sim.parts import V6_RECIPE, V8_RECIPE, PartSet, Recipe, draw_parts

WORLD_NAMES = ("v8", "v6", "flywheel")
PLANE_NAMES = ("front", "rear")


@dataclass(frozen=True, slots=True)
class World:
    """Parts and crank of one job.

    Attributes
    ----------
    name : str
        One of `WORLD_NAMES`.
    seed : int
        What it was drawn from.
    parts : PartSet
        True masses of the parts.
    crank : Crank
        The crank as it came, without holes.
    spin_rpm : float
        Speed of the balancing machine. [1/min]
    """

    name: str
    seed: int
    parts: PartSet
    crank: Crank
    spin_rpm: float

    def needs_kg(self) -> dict[int, float]:
        """Return what each throw truly needs.

        Returns
        -------
        dict[int, float]
            Mass by throw. [kg]
        """
        return {throw: self.parts.need_kg(throw) for throw in range(1, len(self.parts.recipe.throws) + 1)}


def build_world(name: str, seed: int) -> World:
    """Build a world; the same name and seed give the same masses to the last bit.

    Parameters
    ----------
    name : str
        One of `WORLD_NAMES`.
    seed : int
        Any whole number from 0.

    Returns
    -------
    World
        Parts and crank.

    Raises
    ------
    ValueError
        If there is no such world.
    """
    if name not in WORLD_NAMES:
        raise ValueError(f"world {name!r}: found nothing of that name, wanted one of {', '.join(WORLD_NAMES)}")
    rng = np.random.default_rng((seed, 101))
    if name == "flywheel":
        nothing = Recipe({}, {}, (), 0.0, 0.0, 0.0)
        return World(name, seed, draw_parts(nothing, rng), build_flywheel(rng), 600.0)
    recipe, design = (V8_RECIPE, V8_CRANK) if name == "v8" else (V6_RECIPE, V6_CRANK)
    parts = draw_parts(recipe, rng)
    needs = {throw: parts.need_kg(throw) for throw in range(1, len(recipe.throws) + 1)}
    return World(name, seed, parts, build_crank(design, needs, rng), 500.0)


def grams_and_degrees(excess_kg: complex) -> dict[str, float]:
    """Return an excess as people read it.

    Parameters
    ----------
    excess_kg : complex
        Excess mass, x real and y imaginary. [kg]

    Returns
    -------
    dict[str, float]
        ``amount_g`` and ``angle_deg`` in [0, 360).
    """
    return {
        "amount_g": abs(excess_kg) * 1000.0,
        "angle_deg": math.degrees(math.atan2(excess_kg.imag, excess_kg.real)) % 360.0,
    }

"""The demo world's parts and what they truly weigh. Everything here is invented."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

KINDS_PER_CYLINDER = ("piston", "pin", "rings", "locks", "rod_whole", "rod_small_end")
KIND_PER_THROW = "rod_bearings"
KINDS = (*KINDS_PER_CYLINDER, KIND_PER_THROW)


@dataclass(frozen=True, slots=True)
class Recipe:
    """What the parts of one engine weigh about, and how much they scatter.

    Attributes
    ----------
    nominal_kg : dict[str, float]
        Nominal mass by kind; ``rod_big_end`` stands for the whole rod less its small end. [kg]
    spread_kg : dict[str, float]
        Standard deviation by kind. [kg]
    throws : tuple[tuple[int, ...], ...]
        Cylinders on each throw.
    oil_kg : float
        Allowance for oil on a throw. [kg]
    heavy_piston_kg : float
        What one piston has too much. [kg]
    heavy_big_end_kg : float
        What one rod's big end has too much. [kg]
    """

    nominal_kg: dict[str, float]
    spread_kg: dict[str, float]
    throws: tuple[tuple[int, ...], ...]
    oil_kg: float
    heavy_piston_kg: float
    heavy_big_end_kg: float


V8_RECIPE = Recipe(
    nominal_kg={
        "piston": 0.5862,
        "pin": 0.1524,
        "rings": 0.0438,
        "locks": 0.0034,
        "rod_small_end": 0.2148,
        "rod_big_end": 0.5274,
        "rod_bearings": 0.0964,
    },
    spread_kg={
        "piston": 0.00025,
        "pin": 0.00008,
        "rings": 0.00012,
        "locks": 0.00002,
        "rod_small_end": 0.00022,
        "rod_big_end": 0.00025,
        "rod_bearings": 0.00010,
    },
    throws=((1, 2), (3, 4), (5, 6), (7, 8)),
    oil_kg=0.006,
    heavy_piston_kg=0.0016,
    heavy_big_end_kg=0.0023,
)

V6_RECIPE = Recipe(
    nominal_kg={
        "piston": 0.4710,
        "pin": 0.1180,
        "rings": 0.0392,
        "locks": 0.0029,
        "rod_small_end": 0.1790,
        "rod_big_end": 0.4260,
        "rod_bearings": 0.0418,
    },
    spread_kg=V8_RECIPE.spread_kg,
    throws=((1,), (2,), (3,), (4,), (5,), (6,)),
    oil_kg=0.003,
    heavy_piston_kg=0.0016,
    heavy_big_end_kg=0.0023,
)


@dataclass(frozen=True, slots=True)
class PartSet:
    """The parts of one engine.

    Attributes
    ----------
    recipe : Recipe
        What they were drawn from.
    true_kg : dict[tuple[str, int], float]
        True mass by kind and place: the cylinder, or the throw for bearing shells. [kg]
    heavy_piston : int
        Cylinder of the heavy piston; 0 without parts.
    heavy_rod : int
        Cylinder of the rod with the heavy big end; 0 without parts.
    """

    recipe: Recipe
    true_kg: dict[tuple[str, int], float]
    heavy_piston: int
    heavy_rod: int

    def need_kg(self, throw: int, reciprocating_share: float = 0.5) -> float:
        """Return what turns with a throw of this engine: the bobweight it truly needs.

        Parameters
        ----------
        throw : int
            Number of the throw, from 1.
        reciprocating_share : float
            How much of the mass going up and down is counted.

        Returns
        -------
        float
            Mass on the crankpin. [kg]
        """
        cylinders = self.recipe.throws[throw - 1]
        turning = sum(self.true_kg["rod_whole", c] - self.true_kg["rod_small_end", c] for c in cylinders)
        sliding = sum(
            self.true_kg[kind, c] for c in cylinders for kind in ("piston", "pin", "rings", "locks", "rod_small_end")
        )
        return turning + self.true_kg[KIND_PER_THROW, throw] + self.recipe.oil_kg + reciprocating_share * sliding


def draw_parts(recipe: Recipe, rng: np.random.Generator) -> PartSet:
    """Draw the parts of one engine.

    Parameters
    ----------
    recipe : Recipe
        Nominal masses and scatter.
    rng : np.random.Generator
        Source of chance.

    Returns
    -------
    PartSet
        True masses; one piston and one rod's big end stand out.
    """
    cylinders = sorted(c for throw in recipe.throws for c in throw)
    if not cylinders:
        return PartSet(recipe, {}, 0, 0)

    def draw(kind: str, count: int) -> list[float]:
        scatter = np.clip(rng.standard_normal(count), -1.8, 1.8)
        return [float(recipe.nominal_kg[kind] + recipe.spread_kg[kind] * s) for s in scatter]

    true_kg: dict[tuple[str, int], float] = {}
    big_ends = draw("rod_big_end", len(cylinders))
    for kind in ("piston", "pin", "rings", "locks", "rod_small_end"):
        for cylinder, mass in zip(cylinders, draw(kind, len(cylinders)), strict=True):
            true_kg[kind, cylinder] = mass
    for throw, mass in enumerate(draw(KIND_PER_THROW, len(recipe.throws)), start=1):
        true_kg[KIND_PER_THROW, throw] = mass
    heavy_piston = int(rng.choice(cylinders))
    heavy_rod = int(rng.choice([c for c in cylinders if c != heavy_piston]))
    true_kg["piston", heavy_piston] = recipe.nominal_kg["piston"] + recipe.heavy_piston_kg
    for cylinder, big_end in zip(cylinders, big_ends, strict=True):
        end = recipe.nominal_kg["rod_big_end"] + recipe.heavy_big_end_kg if cylinder == heavy_rod else big_end
        true_kg["rod_whole", cylinder] = true_kg["rod_small_end", cylinder] + end
    return PartSet(recipe, true_kg, heavy_piston, heavy_rod)

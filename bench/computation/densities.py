"""Densities of what is drilled away and of what is put in."""

from __future__ import annotations

from dataclasses import dataclass

from bench.computation.errors import QuantityError


@dataclass(frozen=True, slots=True)
class Density:
    """A density and the window a piece may lie in.

    Attributes
    ----------
    material : str
        What it is.
    usual_g_cm3 : float
        Value to compute with. [g/cm3]
    low_g_cm3 : float
        Lower end of the window. [g/cm3]
    high_g_cm3 : float
        Upper end of the window. [g/cm3]
    """

    material: str
    usual_g_cm3: float
    low_g_cm3: float
    high_g_cm3: float


DENSITIES: tuple[Density, ...] = (
    Density("steel", 7.85, 7.85, 7.85),
    Density("grey cast iron", 7.2, 7.05, 7.3),
    Density("heavy metal class 1", 17.0, 16.85, 17.3),
    Density("heavy metal class 2", 17.5, 17.15, 17.85),
    Density("heavy metal class 3", 18.0, 17.75, 18.35),
    Density("heavy metal class 4", 18.5, 18.25, 18.85),
    Density("tungsten", 19.25, 19.25, 19.25),
    Density("lead", 11.34, 11.34, 11.34),
    Density("aluminium", 2.7, 2.7, 2.7),
)
"""Heavy metal classes are windows of 3 to 4 percent (ASTM B777-15 Table 1), so a slug is weighed; the rest are handbook
values from memory."""


def density_of(material: str) -> Density:
    """Return the density of a material.

    Parameters
    ----------
    material : str
        Its name.

    Returns
    -------
    Density
        Usual value and window.

    Raises
    ------
    QuantityError
        If the material is not in the table.

    Notes
    -----
    Source: ASTM B777-15 Table 1 for the classes of heavy metal, handbook values from memory for the rest.

    Examples
    --------
    >>> density_of("heavy metal class 1").usual_g_cm3 - density_of("steel").usual_g_cm3
    9.15
    """
    for density in DENSITIES:
        if density.material == material:
            return density
    raise QuantityError(
        "material", found=material, wanted="one of " + ", ".join(density.material for density in DENSITIES)
    )

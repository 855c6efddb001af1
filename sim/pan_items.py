"""What can lie on a pan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Item:
    """Something that can lie on the pan.

    Attributes
    ----------
    name : str
        Kind and place.
    mass_kg : float
        True mass. [kg]
    hung : bool
        Whether it hangs by one end.
    """

    name: str
    mass_kg: float
    hung: bool = False

"""A connecting rod as two masses: what its two hung readings must add up to, and where its centre lies."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bench.computation.checks import not_negative, positive


@dataclass(frozen=True, slots=True)
class RodClosure:
    """Whether the two hung ends add up to the whole rod.

    Attributes
    ----------
    off_g : float
        Big end + small end - whole. [g]
    allowed_g : float
        What the uncertainties explain. [g]
    closes : bool
        Whether |off_g| <= allowed_g.
    """

    off_g: float
    allowed_g: float
    closes: bool


def rod_closure(
    *, whole_g: float, big_end_g: float, small_end_g: float, standard_uncertainty_g: float, coverage_factor: float = 2.0
) -> RodClosure:
    """Return whether a rod hung at both ends closes on its whole weight; a fixture out of level shows here.

    Parameters
    ----------
    whole_g : float
        Whole rod on the pan. [g]
    big_end_g : float
        Big end hung. [g]
    small_end_g : float
        Small end hung. [g]
    standard_uncertainty_g : float
        Of each of the three weighings. [g]
    coverage_factor : float
        How many standard uncertainties of the sum are allowed.

    Returns
    -------
    RodClosure
        The difference, what is allowed, and whether it closes.

    Raises
    ------
    QuantityError
        If a weight or the uncertainty is negative or not finite, or whole rod or coverage factor are not above zero.

    Notes
    -----
    Statics: the two reactions of a level rod add up to its weight. Three independent weighings: u sqrt(3).

    Examples
    --------
    >>> rod_closure(whole_g=610.5, big_end_g=431.6, small_end_g=178.8, standard_uncertainty_g=0.06).closes
    True
    """
    positive(whole_g, quantity="whole_g")
    not_negative(big_end_g, quantity="big_end_g")
    not_negative(small_end_g, quantity="small_end_g")
    not_negative(standard_uncertainty_g, quantity="standard_uncertainty_g")
    positive(coverage_factor, quantity="coverage_factor")
    off_g = math.fsum((big_end_g, small_end_g, -whole_g))
    allowed_g = coverage_factor * math.sqrt(3.0) * standard_uncertainty_g
    return RodClosure(off_g=off_g, allowed_g=allowed_g, closes=abs(off_g) <= allowed_g)


def centre_from_big_end(*, big_end_g: float, small_end_g: float, centres_mm: float) -> float:
    """Return how far the rod's mass centre lies from the middle of its big end.

    Parameters
    ----------
    big_end_g : float
        Big end hung. [g]
    small_end_g : float
        Small end hung. [g]
    centres_mm : float
        Distance between the middles of the two bores. [mm]

    Returns
    -------
    float
        Distance from the big end's middle towards the small end. [mm]

    Raises
    ------
    QuantityError
        If an input is not finite and above zero.

    Notes
    -----
    Source: statics; the static two-mass model of a rod (Norton, Design of Machinery, 13.4).

    Examples
    --------
    >>> round(centre_from_big_end(big_end_g=431.6, small_end_g=178.9, centres_mm=152.4), 4)
    44.6591
    """
    positive(big_end_g, quantity="big_end_g")
    positive(small_end_g, quantity="small_end_g")
    positive(centres_mm, quantity="centres_mm")
    return centres_mm / (1.0 + big_end_g / small_end_g)


@dataclass(frozen=True, slots=True)
class TwoMasses:
    """A rod as two masses that move as it does.

    Attributes
    ----------
    at_big_end : float
        Mass at the big end, in the unit of the rod's mass.
    at_other : float
        Mass at the other point.
    centre_to_other : float
        Distance of the other point from the mass centre, on the small end's side.
    """

    at_big_end: float
    at_other: float
    centre_to_other: float


def equivalent_two_masses(*, mass: float, inertia: float, centre_to_big_end: float) -> TwoMasses:
    """Return the two masses with a rod's mass, mass centre and moment of inertia, one of them at its big end.

    Parameters
    ----------
    mass : float
        Mass of the rod, any one unit.
    inertia : float
        Moment of inertia about the mass centre, in that unit times the square of the distance's.
    centre_to_big_end : float
        Distance from the mass centre to the big end's middle.

    Returns
    -------
    TwoMasses
        Both masses, and where the other one sits: seldom at the small end, which is why two hung readings stand for
        the force and not for the moment.

    Raises
    ------
    QuantityError
        If an input is not finite and above zero.

    Notes
    -----
    Source: Norton, Design of Machinery, 13.4: l_p = I / (m l_b), m_p = m l_b / (l_p + l_b).

    Examples
    --------
    >>> equivalent_two_masses(mass=2.0, inertia=8.0, centre_to_big_end=2.0)
    TwoMasses(at_big_end=1.0, at_other=1.0, centre_to_other=2.0)
    """
    positive(mass, quantity="mass")
    positive(inertia, quantity="inertia")
    positive(centre_to_big_end, quantity="centre_to_big_end")
    centre_to_other = inertia / mass / centre_to_big_end
    reach = centre_to_other + centre_to_big_end
    return TwoMasses(
        at_big_end=mass * (centre_to_other / reach),
        at_other=mass * (centre_to_big_end / reach),
        centre_to_other=centre_to_other,
    )

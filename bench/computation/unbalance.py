"""Unbalance: how much of it a rotor may keep, how that is shared between planes, and the verdict."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from bench.computation.checks import not_negative, positive, representable
from bench.computation.errors import QuantityError
from bench.computation.unbalance_units import grams_at_radius


def permissible_eccentricity(*, grade_mm_per_s: float, speed_rpm: float) -> float:
    """Return the permissible residual specific unbalance of a balance quality grade.

    Parameters
    ----------
    grade_mm_per_s : float
        Balance quality grade G, eccentricity times angular speed. [mm/s]
    speed_rpm : float
        Highest service speed. [1/min]

    Returns
    -------
    float
        Permissible eccentricity of the mass centre. [um]

    Raises
    ------
    QuantityError
        If an input is not finite and greater than zero.

    Notes
    -----
    Source: ISO 21940-11, e_per = 1000 G / omega.

    Examples
    --------
    >>> round(permissible_eccentricity(grade_mm_per_s=2.5, speed_rpm=3000.0), 3)
    7.958
    """
    positive(grade_mm_per_s, quantity="grade_mm_per_s")
    omega = positive(positive(speed_rpm, quantity="speed_rpm") * (math.tau / 60.0), quantity="speed_rpm")
    return representable(1000.0 * (grade_mm_per_s / omega), quantity="e_per_um")


def permissible_residual_unbalance(*, grade_mm_per_s: float, rotor_mass_kg: float, speed_rpm: float) -> float:
    """Return the unbalance a rigid rotor of this balance quality grade may keep.

    Parameters
    ----------
    grade_mm_per_s : float
        Balance quality grade G, eccentricity times angular speed. [mm/s]
    rotor_mass_kg : float
        Mass of the whole rotor, bobweights included. [kg]
    speed_rpm : float
        Highest service speed. [1/min]

    Returns
    -------
    float
        Permissible residual unbalance, all planes together. [g mm]

    Raises
    ------
    QuantityError
        If an input is not finite and greater than zero.

    Notes
    -----
    Source: ISO 21940-11, U_per = 1000 G m / omega.

    Examples
    --------
    >>> round(permissible_residual_unbalance(grade_mm_per_s=6.3, rotor_mass_kg=25.0, speed_rpm=3000.0), 1)
    501.3
    """
    eccentricity_um = permissible_eccentricity(grade_mm_per_s=grade_mm_per_s, speed_rpm=speed_rpm)
    return representable(eccentricity_um * positive(rotor_mass_kg, quantity="rotor_mass_kg"), quantity="U_per_g_mm")


def grade_of_unbalance(*, amount_g_mm: float, rotor_mass_kg: float, speed_rpm: float) -> float:
    """Return the balance quality grade an unbalance amounts to.

    Parameters
    ----------
    amount_g_mm : float
        Residual unbalance of the whole rotor. [g mm]
    rotor_mass_kg : float
        Mass of the whole rotor. [kg]
    speed_rpm : float
        Highest service speed. [1/min]

    Returns
    -------
    float
        Grade G. [mm/s]

    Raises
    ------
    QuantityError
        If mass or speed is not above zero, or the amount is negative or not finite.

    Notes
    -----
    Source: ISO 21940-11, G = U omega / (1000 m).

    Examples
    --------
    >>> round(grade_of_unbalance(amount_g_mm=501.338, rotor_mass_kg=25.0, speed_rpm=3000.0), 4)
    6.3
    """
    not_negative(amount_g_mm, quantity="amount_g_mm")
    omega = positive(speed_rpm, quantity="speed_rpm") * (math.tau / 60.0)
    eccentricity_um = amount_g_mm / positive(rotor_mass_kg, quantity="rotor_mass_kg")
    return representable(eccentricity_um * omega / 1000.0, quantity="grade_mm_per_s")


@dataclass(frozen=True, slots=True)
class Allocation:
    """How a permissible unbalance is shared between two planes.

    Attributes
    ----------
    a_g_mm : float
        Plane A. [g mm]
    b_g_mm : float
        Plane B. [g mm]
    limited : bool
        Whether a share was held at the 0.3 or 0.7 limit.
    """

    a_g_mm: float
    b_g_mm: float
    limited: bool


def allocated_to_planes(permissible_g_mm: float, *, distance_a_mm: float, distance_b_mm: float) -> Allocation:
    """Return the share of each of two planes with the mass centre between them.

    Parameters
    ----------
    permissible_g_mm : float
        Permissible residual unbalance of the whole rotor. [g mm]
    distance_a_mm : float
        From the mass centre to plane A. [mm]
    distance_b_mm : float
        From the mass centre to plane B, on the other side. [mm]

    Returns
    -------
    Allocation
        Both shares; they add up to the whole.

    Raises
    ------
    QuantityError
        If an input is not finite and above zero.

    Notes
    -----
    Source: ISO 21940-11, U_A = U_per L_B / L; no plane of an inboard rotor above 0.7 or below 0.3 of the whole
    (limits from memory of ISO 1940-1:2003 clause 7).

    Examples
    --------
    >>> allocated_to_planes(100.0, distance_a_mm=60.0, distance_b_mm=40.0)
    Allocation(a_g_mm=40.0, b_g_mm=60.0, limited=False)
    """
    positive(permissible_g_mm, quantity="permissible_g_mm")
    positive(distance_a_mm, quantity="distance_a_mm")
    positive(distance_b_mm, quantity="distance_b_mm")
    # halves first, so that two very long distances do not overflow in their sum
    free_share = 0.5 * distance_b_mm / (0.5 * distance_a_mm + 0.5 * distance_b_mm)
    share_a = min(max(free_share, 0.3), 0.7)
    return Allocation(
        a_g_mm=share_a * permissible_g_mm,
        b_g_mm=(1.0 - share_a) * permissible_g_mm,
        limited=share_a != free_share,
    )


class PlaneVerdict(StrEnum):
    """What can be said of one plane against its limit."""

    INSIDE = "inside"
    TOO_CLOSE = "too close to call"
    OUTSIDE = "outside"
    UNKNOWN = "unknown"


def plane_verdict(*, residual: float | None, limit: float | None, uncertainty: float | None) -> PlaneVerdict:
    """Return the verdict with a guard band as wide as the uncertainty on both sides of the limit.

    Parameters
    ----------
    residual : float | None
        Residual unbalance, not negative; None where not measured. [any one unit]
    limit : float | None
        What is allowed, above zero, in the same unit.
    uncertainty : float | None
        Expanded uncertainty of the residual in the same unit; None where nobody knows it.

    Returns
    -------
    PlaneVerdict
        INSIDE only if residual + uncertainty <= limit; UNKNOWN for anything missing, NaN, infinite or negative.

    Notes
    -----
    Source: the guarded acceptance of JCGM 106.

    Examples
    --------
    >>> plane_verdict(residual=0.8, limit=1.0, uncertainty=0.1)
    <PlaneVerdict.INSIDE: 'inside'>
    >>> plane_verdict(residual=0.95, limit=1.0, uncertainty=0.1)
    <PlaneVerdict.TOO_CLOSE: 'too close to call'>
    >>> plane_verdict(residual=float("nan"), limit=1.0, uncertainty=0.1)
    <PlaneVerdict.UNKNOWN: 'unknown'>
    """
    if residual is None or limit is None or uncertainty is None:
        return PlaneVerdict.UNKNOWN
    if not (0.0 <= residual < math.inf and 0.0 < limit < math.inf and 0.0 <= uncertainty < math.inf):
        return PlaneVerdict.UNKNOWN
    if residual + uncertainty <= limit:
        return PlaneVerdict.INSIDE
    if residual - uncertainty > limit:
        return PlaneVerdict.OUTSIDE
    return PlaneVerdict.TOO_CLOSE


def whole_verdict(verdicts: tuple[PlaneVerdict, ...]) -> PlaneVerdict:
    """Return the verdict of a rotor from those of its planes: the worst one.

    Parameters
    ----------
    verdicts : tuple[PlaneVerdict, ...]
        One a plane.

    Returns
    -------
    PlaneVerdict
        OUTSIDE if any plane is outside, else UNKNOWN if any is unknown or there is none, else TOO_CLOSE, else INSIDE.

    Notes
    -----
    A rotor is as good as its worst plane, and what is not known is never good.

    Examples
    --------
    >>> whole_verdict((PlaneVerdict.INSIDE, PlaneVerdict.TOO_CLOSE))
    <PlaneVerdict.TOO_CLOSE: 'too close to call'>
    >>> whole_verdict(())
    <PlaneVerdict.UNKNOWN: 'unknown'>
    """
    for worst in (PlaneVerdict.OUTSIDE, PlaneVerdict.UNKNOWN, PlaneVerdict.TOO_CLOSE):
        if worst in verdicts:
            return worst
    return PlaneVerdict.INSIDE if verdicts else PlaneVerdict.UNKNOWN


def percent_of_bobweight(*, worst_plane_g: float, bobweight_g: float) -> float:
    """Return the worst plane's residual as a percentage of the bobweight.

    Some shops quote 100 less this figure. It is shown as such and never used as a verdict.

    Parameters
    ----------
    worst_plane_g : float
        Largest residual of any plane, at its correction radius. [g]
    bobweight_g : float
        Bobweight of a throw. [g]

    Returns
    -------
    float
        Percentage. [%]

    Raises
    ------
    QuantityError
        If the residual is negative or not finite, or the bobweight not above zero.

    Notes
    -----
    Common practice, no source.

    Examples
    --------
    >>> round(percent_of_bobweight(worst_plane_g=0.88, bobweight_g=2317.8), 3)
    0.038
    """
    not_negative(worst_plane_g, quantity="worst_plane_g")
    return representable(100.0 * (worst_plane_g / positive(bobweight_g, quantity="bobweight_g")), quantity="percent")


def stricter_limit_g(*, shop_limit_g: float | None, grade_limit_g_mm: float | None, radius_mm: float) -> float:
    """Return the stricter of a shop limit and a grade's limit for one plane.

    Parameters
    ----------
    shop_limit_g : float | None
        Limit in grams at the correction radius. [g]
    grade_limit_g_mm : float | None
        The plane's share of the permissible residual unbalance. [g mm]
    radius_mm : float
        Correction radius. [mm]

    Returns
    -------
    float
        The smaller of the two at the correction radius. [g]

    Raises
    ------
    QuantityError
        If there is no limit at all, or one is not finite and above zero.

    Notes
    -----
    Common practice, no source: the stricter limit decides.

    Examples
    --------
    >>> stricter_limit_g(shop_limit_g=1.0, grade_limit_g_mm=60.0, radius_mm=80.0)
    0.75
    """
    limits: list[float] = []
    if shop_limit_g is not None:
        limits.append(positive(shop_limit_g, quantity="shop_limit_g"))
    if grade_limit_g_mm is not None:
        positive(grade_limit_g_mm, quantity="grade_limit_g_mm")
        limits.append(grams_at_radius(grade_limit_g_mm, radius_mm=radius_mm))
    if not limits:
        raise QuantityError("shop_limit_g", found=None, wanted="a shop limit or a grade's limit")
    return min(limits)

"""The bobweight of a throw: what it must weigh, line by line, and how well that is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bench.computation.checks import finite_sum, not_negative, positive, representable, share
from bench.computation.errors import QuantityError

MOST_RODS = 64
"""Rods on one pin that are still taken seriously."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RodParts:
    """Everything one rod brings to its pin, each weighed by itself.

    Attributes
    ----------
    piston_g, rings_g, pin_g, locks_g : float
        Reciprocating parts. [g]
    rod_small_end_g : float
        Small end hung, big end supported. [g]
    rod_whole_g : float | None
        The whole rod; then the big end is whole less small end. [g]
    rod_big_end_g : float | None
        Big end hung, small end supported. Give this or the whole rod, not both. [g]
    count : int
        Rods on this pin that this one weighing stands for: 1 when each rod was weighed by itself.
    name : str
        Whose parts these are, e.g. "cylinder 3"; may be empty.
    """

    piston_g: float
    rings_g: float
    pin_g: float
    locks_g: float
    rod_small_end_g: float
    rod_whole_g: float | None = None
    rod_big_end_g: float | None = None
    count: int = 1
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrowParts:
    """Everything that sits on one throw.

    Attributes
    ----------
    rods : tuple[RodParts, ...]
        One or more.
    rod_bearings_g : float
        Bearing shells of all rods of the throw together. [g]
    oil_g : float
        Allowance for oil of the throw. [g]
    """

    rods: tuple[RodParts, ...]
    rod_bearings_g: float
    oil_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartUncertainty:
    """Standard uncertainty of one weighing of each kind. Weighings are independent of each other.

    Attributes
    ----------
    piston_g, rings_g, pin_g, locks_g, rod_small_end_g, rod_whole_g, rod_big_end_g : float
        Of one weighing. [g]
    rod_bearings_g : float
        Of the shells of the throw together. [g]
    oil_g : float
        Of the allowance. [g]
    """

    piston_g: float = 0.0
    rings_g: float = 0.0
    pin_g: float = 0.0
    locks_g: float = 0.0
    rod_small_end_g: float = 0.0
    rod_whole_g: float = 0.0
    rod_big_end_g: float = 0.0
    rod_bearings_g: float = 0.0
    oil_g: float = 0.0


@dataclass(frozen=True, slots=True)
class BobweightLine:
    """One line of the sum.

    Attributes
    ----------
    label : str
        What, e.g. "piston, cylinder 3".
    grams : float
        Of one. [g]
    factor : float
        How often it counts.
    contribution_g : float
        grams times factor. [g]
    """

    label: str
    grams: float
    factor: float
    contribution_g: float


@dataclass(frozen=True, slots=True)
class Bobweight:
    """What one throw's bobweight must weigh.

    Attributes
    ----------
    total_g : float
        The bobweight: the sum of its lines. [g]
    rotating_g : float
        Rotating part: big ends, shells, oil. [g]
    reciprocating_g : float
        Counted part of the reciprocating parts, the share applied. [g]
    lines : tuple[BobweightLine, ...]
        Rotating lines first.
    standard_uncertainty_g : float | None
        Combined standard uncertainty; None where none was given. [g]
    """

    total_g: float
    rotating_g: float
    reciprocating_g: float
    lines: tuple[BobweightLine, ...]
    standard_uncertainty_g: float | None


def bobweight(
    parts: ThrowParts, *, reciprocating_share: float, uncertainty: PartUncertainty | None = None
) -> Bobweight:
    """Return the bobweight of a throw from the parts that will sit on it.

    Parameters
    ----------
    parts : ThrowParts
        The parts.
    reciprocating_share : float
        Share of the reciprocating mass that counts, 0 to 1; 0.5 removes the forward first order of any layout.
    uncertainty : PartUncertainty | None
        Standard uncertainties of the weighings, where known.

    Returns
    -------
    Bobweight
        Itemised.

    Raises
    ------
    QuantityError
        If a weight is negative or not finite, a rod has neither or both of whole and big end, the small end is heavier
        than the whole rod, there is no rod, or the whole bobweight is zero.

    Notes
    -----
    B = sum(big end + shells) + share * sum(piston + rings + pin + locks + small end) + oil (common practice, no
    source). Uncertainty: JCGM 100 5.1.2. A big end by difference is correlated with its own small end, so one weighing
    of a rod that stands for n rods has sensitivity n to the whole rod and n (share - 1) to the small end: 2 and -1 for
    two rods and half.

    Examples
    --------
    >>> rod = RodParts(piston_g=603.7, rings_g=30.1, pin_g=188.5, locks_g=2.9, rod_small_end_g=250.0,
    ...                rod_whole_g=818.2, count=2)
    >>> throw = ThrowParts(rods=(rod,), rod_bearings_g=100.2, oil_g=6.0)
    >>> round(bobweight(throw, reciprocating_share=0.5).total_g, 6)
    2317.8
    """
    share(reciprocating_share, quantity="reciprocating_share")
    _check(parts)
    rotating = [_rotating_line(rod) for rod in parts.rods]
    rotating.append(_line("rod bearings", parts.rod_bearings_g, 1.0))
    rotating.append(_line("oil", parts.oil_g, 1.0))
    reciprocating = [line for rod in parts.rods for line in _reciprocating_lines(rod, reciprocating_share)]
    total_g = finite_sum((line.contribution_g for line in rotating + reciprocating), quantity="bobweight_g")
    positive(total_g, quantity="bobweight_g")
    return Bobweight(
        total_g=total_g,
        rotating_g=math.fsum(line.contribution_g for line in rotating),
        reciprocating_g=math.fsum(line.contribution_g for line in reciprocating),
        lines=tuple(rotating + reciprocating),
        standard_uncertainty_g=None
        if uncertainty is None
        else _combined_uncertainty(parts, reciprocating_share=reciprocating_share, uncertainty=uncertainty),
    )


def _check(parts: ThrowParts) -> None:
    not_negative(parts.rod_bearings_g, quantity="rod_bearings_g")
    not_negative(parts.oil_g, quantity="oil_g")
    if not parts.rods:
        raise QuantityError("rods", found=0, wanted="at least one rod on the pin")
    for rod in parts.rods:
        if not 1 <= rod.count <= MOST_RODS:
            raise QuantityError("count", found=rod.count, wanted=f"1 to {MOST_RODS} rods on the pin")
        for kind in ("piston_g", "rings_g", "pin_g", "locks_g", "rod_small_end_g"):
            not_negative(getattr(rod, kind), quantity=kind)
        _big_end_g(rod)


def _big_end_g(rod: RodParts) -> float:
    if rod.rod_whole_g is not None and rod.rod_big_end_g is not None:
        raise QuantityError("rod_whole_g", found="rod_whole_g and rod_big_end_g", wanted="one of the two")
    if rod.rod_big_end_g is not None:
        return not_negative(rod.rod_big_end_g, quantity="rod_big_end_g")
    if rod.rod_whole_g is None:
        raise QuantityError("rod_whole_g", found=None, wanted="rod_whole_g or rod_big_end_g")
    not_negative(rod.rod_whole_g, quantity="rod_whole_g")
    if rod.rod_whole_g < rod.rod_small_end_g:
        raise QuantityError(
            "rod_small_end_g", found=rod.rod_small_end_g, wanted=f"no more than the whole rod, {rod.rod_whole_g}"
        )
    return rod.rod_whole_g - rod.rod_small_end_g


def _line(label: str, grams: float, factor: float) -> BobweightLine:
    return BobweightLine(label=label, grams=grams, factor=factor, contribution_g=grams * factor)


def _labelled(kind: str, rod: RodParts) -> str:
    return f"{kind}, {rod.name}" if rod.name else kind


def _rotating_line(rod: RodParts) -> BobweightLine:
    kind = "rod big end" if rod.rod_whole_g is None else "rod big end (whole less small end)"
    return _line(_labelled(kind, rod), _big_end_g(rod), float(rod.count))


def _reciprocating_lines(rod: RodParts, reciprocating_share: float) -> list[BobweightLine]:
    factor = rod.count * reciprocating_share
    return [
        _line(_labelled(kind, rod), grams, factor)
        for kind, grams in (
            ("piston", rod.piston_g),
            ("rings", rod.rings_g),
            ("pin", rod.pin_g),
            ("locks", rod.locks_g),
            ("rod small end", rod.rod_small_end_g),
        )
    ]


def _combined_uncertainty(parts: ThrowParts, *, reciprocating_share: float, uncertainty: PartUncertainty) -> float:
    terms = [
        not_negative(uncertainty.rod_bearings_g, quantity="standard_uncertainty.rod_bearings_g"),
        not_negative(uncertainty.oil_g, quantity="standard_uncertainty.oil_g"),
    ]
    for rod in parts.rods:
        counted = rod.count * reciprocating_share
        sensitivities = {"piston_g": counted, "rings_g": counted, "pin_g": counted, "locks_g": counted}
        if rod.rod_whole_g is None:
            sensitivities |= {"rod_big_end_g": float(rod.count), "rod_small_end_g": counted}
        else:
            sensitivities |= {"rod_whole_g": float(rod.count), "rod_small_end_g": counted - rod.count}
        terms.extend(
            sensitivity * not_negative(getattr(uncertainty, kind), quantity=f"standard_uncertainty.{kind}")
            for kind, sensitivity in sensitivities.items()
        )
    return representable(math.hypot(*terms), quantity="standard_uncertainty_g")

"""Layouts to start from: pins and banks by name, the share each needs and what it leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.engine import Cylinder, EngineInertia, engine_inertia
from bench.computation.errors import QuantityError

NOTHING = 1e-9
"""Below this multiple of m r omega^2 a force or couple counts as none."""


@dataclass(frozen=True, slots=True)
class NamedLayout:
    """A layout to start from. Positions are in cylinder or throw spacings, about the middle of the crank.

    Attributes
    ----------
    name : str
        Key, e.g. "v8-90-cross-plane".
    words : str
        What a person reads.
    cylinders : tuple[Cylinder, ...]
        Front to back; in a V the left bank first on each throw.
    """

    name: str
    words: str
    cylinders: tuple[Cylinder, ...]


@dataclass(frozen=True, slots=True)
class ShareAdvice:
    """The share a layout needs in its bobweights and what then remains of the first order.

    Attributes
    ----------
    bobweights_needed : bool
        False where equal masses on all pins balance each other, so that the crank shows the same with and without.
    reciprocating_share : float
        Share to start from: 0.5 takes the whole forward first order away in any layout.
    force_left : float
        Peak first-order force left. [m r omega^2]
    couple_left : float
        Peak first-order couple left. [m r omega^2 spacings]
    second_force_left : float
        Peak second-order force, which no crank weight touches. [lambda m r omega^2]
    second_couple_left : float
        Peak second-order couple. [lambda m r omega^2 spacings]
    """

    bobweights_needed: bool
    reciprocating_share: float
    force_left: float
    couple_left: float
    second_force_left: float
    second_couple_left: float


def inline(pins_deg: Sequence[float]) -> tuple[Cylinder, ...]:
    """Return a row of upright cylinders one spacing apart.

    Parameters
    ----------
    pins_deg : Sequence[float]
        Pin angles front to back. [deg]

    Returns
    -------
    tuple[Cylinder, ...]
        Positions about the middle.

    Notes
    -----
    Geometry; the middle of the row is position 0.

    Examples
    --------
    >>> [cylinder.position for cylinder in inline((0.0, 240.0, 120.0))]
    [-1.0, 0.0, 1.0]
    """
    return tuple(
        Cylinder(pin_deg=pin, bank_deg=0.0, position=position)
        for pin, position in zip(pins_deg, _positions(len(pins_deg)), strict=True)
    )


def vee(throws_deg: Sequence[float], *, bank_angle_deg: float, pin_split_deg: float = 0.0) -> tuple[Cylinder, ...]:
    """Return two banks whose cylinders sit in pairs on throws one spacing apart.

    Parameters
    ----------
    throws_deg : Sequence[float]
        Pin angle of the left cylinder of each throw, front to back. [deg]
    bank_angle_deg : float
        Angle between the banks. [deg]
    pin_split_deg : float
        How far the right cylinder's pin is ahead of the left one's. [deg]

    Returns
    -------
    tuple[Cylinder, ...]
        Left and right of each throw; rods of a throw at one position.

    Notes
    -----
    Geometry; the banks lie half the bank angle to each side of upright.

    Examples
    --------
    >>> [(c.pin_deg, c.bank_deg) for c in vee((0.0,), bank_angle_deg=60.0, pin_split_deg=-60.0)]
    [(0.0, -30.0), (-60.0, 30.0)]
    """
    return tuple(
        Cylinder(pin_deg=throw + split, bank_deg=bank, position=position)
        for throw, position in zip(throws_deg, _positions(len(throws_deg)), strict=True)
        for bank, split in ((-bank_angle_deg / 2.0, 0.0), (bank_angle_deg / 2.0, pin_split_deg))
    )


def flat(throws_deg: Sequence[float], *, rod_offset: float) -> tuple[Cylinder, ...]:
    """Return cylinders facing each other in pairs, each pair's pins half a turn apart.

    Parameters
    ----------
    throws_deg : Sequence[float]
        Pin angle of the first cylinder of each pair, front to back. [deg]
    rod_offset : float
        Distance between the two rods of a pair, in pair spacings.

    Returns
    -------
    tuple[Cylinder, ...]
        First and second of each pair.

    Notes
    -----
    Geometry; the second cylinder of a pair looks the other way.

    Examples
    --------
    >>> [(c.pin_deg, c.bank_deg, c.position) for c in flat((0.0,), rod_offset=1.0)]
    [(0.0, 0.0, -0.5), (180.0, 180.0, 0.5)]
    """
    return tuple(
        Cylinder(pin_deg=throw + turned, bank_deg=turned, position=position + side * rod_offset / 2.0)
        for throw, position in zip(throws_deg, _positions(len(throws_deg)), strict=True)
        for turned, side in ((0.0, -1.0), (180.0, 1.0))
    )


def _positions(count: int) -> list[float]:
    return [index - (count - 1) / 2.0 for index in range(count)]


_THREE = (0.0, 240.0, 120.0)
_FIVE = (0.0, 216.0, 144.0, 72.0, 288.0)
_SIX = (0.0, 240.0, 120.0, 120.0, 240.0, 0.0)
_CROSS = (0.0, 90.0, 270.0, 180.0)
_PLANE = (0.0, 180.0, 180.0, 0.0)

LAYOUTS: tuple[NamedLayout, ...] = (
    NamedLayout("single", "single cylinder", inline((0.0,))),
    NamedLayout("inline-2-together", "two in line, pins together", inline((0.0, 0.0))),
    NamedLayout("inline-2-opposed", "two in line, pins 180° apart", inline((0.0, 180.0))),
    NamedLayout("inline-2-quarter", "two in line, pins 90° apart", inline((0.0, 90.0))),
    NamedLayout("inline-3", "three in line, pins 120° apart", inline(_THREE)),
    NamedLayout("inline-4", "four in line, pins in one plane", inline(_PLANE)),
    NamedLayout("inline-4-cross-plane", "four in line, pins in two planes", inline(_CROSS)),
    NamedLayout("inline-5", "five in line, pins 72° apart", inline(_FIVE)),
    NamedLayout("inline-6", "six in line, pins 120° apart", inline(_SIX)),
    NamedLayout("flat-2", "two facing each other, a pin each", flat((0.0,), rod_offset=1.0)),
    NamedLayout("flat-4", "four facing each other, a pin each", flat((0.0, 180.0), rod_offset=0.5)),
    NamedLayout("flat-6", "six facing each other, a pin each", flat((0.0, 120.0, 240.0), rod_offset=0.5)),
    NamedLayout("v2-45", "V-twin 45°, common pin", vee((0.0,), bank_angle_deg=45.0)),
    NamedLayout("v2-60", "V-twin 60°, common pin", vee((0.0,), bank_angle_deg=60.0)),
    NamedLayout("v2-90", "V-twin 90°, common pin", vee((0.0,), bank_angle_deg=90.0)),
    NamedLayout("v4-90", "V4 90°, common pins 180° apart", vee((0.0, 180.0), bank_angle_deg=90.0)),
    NamedLayout("v6-60-common", "V6 60°, three common pins", vee(_THREE, bank_angle_deg=60.0)),
    NamedLayout("v6-60-split", "V6 60°, pins split 60°", vee(_THREE, bank_angle_deg=60.0, pin_split_deg=-60.0)),
    NamedLayout("v6-90-common", "V6 90°, three common pins", vee(_THREE, bank_angle_deg=90.0)),
    NamedLayout("v6-90-split", "V6 90°, pins split 30°", vee(_THREE, bank_angle_deg=90.0, pin_split_deg=-30.0)),
    NamedLayout("v8-90-cross-plane", "V8 90°, pins in two planes", vee(_CROSS, bank_angle_deg=90.0)),
    NamedLayout("v8-90-flat-plane", "V8 90°, pins in one plane", vee(_PLANE, bank_angle_deg=90.0)),
    NamedLayout("v10-72", "V10 72°, five common pins", vee(_FIVE, bank_angle_deg=72.0)),
    NamedLayout("v10-90", "V10 90°, five common pins", vee(_FIVE, bank_angle_deg=90.0)),
    NamedLayout("v12-60", "V12 60°, six common pins", vee(_SIX, bank_angle_deg=60.0)),
)
"""Layouts to start from. The split V6 pins have the right bank's pin behind the left one's, which fires evenly."""


def layout_named(name: str) -> NamedLayout:
    """Return a layout to start from.

    Parameters
    ----------
    name : str
        Its key.

    Returns
    -------
    NamedLayout
        The layout.

    Raises
    ------
    QuantityError
        If no layout has this name.

    Notes
    -----
    Source: crank orders of textbooks (Den Hartog; Taylor; Norton, from memory), as `LAYOUTS`.

    Examples
    --------
    >>> len(layout_named("v8-90-cross-plane").cylinders)
    8
    """
    for layout in LAYOUTS:
        if layout.name == name:
            return layout
    raise QuantityError("layout", found=name, wanted="one of " + ", ".join(layout.name for layout in LAYOUTS))


def share_advice(cylinders: Sequence[Cylinder]) -> ShareAdvice:
    """Return whether a layout needs bobweights, the share to start from, and what that share leaves.

    Parameters
    ----------
    cylinders : Sequence[Cylinder]
        The layout.

    Returns
    -------
    ShareAdvice
        In multiples of m r omega^2 and of the unit of the positions.

    Raises
    ------
    QuantityError
        As `engine_inertia`.

    Notes
    -----
    Half of each reciprocating mass on its pin is exactly the forward first order, in any layout. What is left then is
    the backward part. Another share is a choice of the shape of the remaining ellipse.

    Examples
    --------
    >>> advice = share_advice(layout_named("v8-90-cross-plane").cylinders)
    >>> advice.bobweights_needed, advice.reciprocating_share, round(advice.couple_left, 9)
    (True, 0.5, 0.0)
    """
    inertia: EngineInertia = engine_inertia(cylinders)
    needed = inertia.rotating_force.amount > NOTHING or inertia.rotating_couple.amount > NOTHING
    return ShareAdvice(
        bobweights_needed=needed,
        reciprocating_share=0.5,
        force_left=inertia.first_order.force.backward.amount,
        couple_left=inertia.first_order.couple.backward.amount,
        second_force_left=inertia.second_order.force.peak,
        second_couple_left=inertia.second_order.couple.peak,
    )

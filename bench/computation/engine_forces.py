"""What a layout does to its mounts at a chosen speed, for any share of the reciprocating mass in the bobweights."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bench.computation.checks import not_negative, positive, representable, share
from bench.computation.engine import EngineInertia, Order, TurningPair
from bench.computation.errors import QuantityError


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningEngine:
    """The figures that turn multiples into newtons.

    Attributes
    ----------
    reciprocating_g : float
        Reciprocating mass of one cylinder, small end included. [g]
    crank_radius_mm : float
        Half the stroke. [mm]
    rod_length_mm : float
        Between the middles of the rod's bores. [mm]
    speed_rpm : float
        Speed of the crank. [1/min]
    mm_per_position : float
        Length of the layout's unit of position, such as the cylinder spacing. [mm]
    """

    reciprocating_g: float
    crank_radius_mm: float
    rod_length_mm: float
    speed_rpm: float
    mm_per_position: float


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What is left for the mounts, couples in N m.

    Attributes
    ----------
    first_order : Order
        Force in N, couple in N m; turns at crank speed.
    second_order : Order
        Force in N, couple in N m; turns at twice crank speed.
    """

    first_order: Order
    second_order: Order

    def force_n(self, *, crank_deg: float) -> complex:
        """Return the whole inertia force at a crank angle.

        Parameters
        ----------
        crank_deg : float
            Crank angle. [deg]

        Returns
        -------
        complex
            Force on the block, real axis at 0 degrees. [N]
        """
        return self.first_order.force.at(turned_deg=crank_deg) + self.second_order.force.at(turned_deg=2.0 * crank_deg)

    def couple_n_m(self, *, crank_deg: float) -> complex:
        """Return the whole inertia couple at a crank angle.

        Parameters
        ----------
        crank_deg : float
            Crank angle. [deg]

        Returns
        -------
        complex
            Force times position, real axis at 0 degrees. [N m]
        """
        return self.first_order.couple.at(turned_deg=crank_deg) + self.second_order.couple.at(
            turned_deg=2.0 * crank_deg
        )


def left_over(inertia: EngineInertia, running: RunningEngine, *, reciprocating_share: float) -> LeftOver:
    """Return the ellipses of force and couple that bobweights of this share leave.

    Parameters
    ----------
    inertia : EngineInertia
        The layout.
    running : RunningEngine
        Masses, lengths and speed.
    reciprocating_share : float
        Share of each reciprocating mass that the bobweights stood for, 0 to 1.

    Returns
    -------
    LeftOver
        First and second order.

    Raises
    ------
    QuantityError
        If a figure is not finite and above zero, the rod is not longer than the crank, or the share is not 0 to 1.

    Notes
    -----
    A crank balanced with a share s on each pin takes s sum e^{ip} away from the forward first order, which is
    1/2 sum e^{ip}: (1 - 2 s) of it is left. Nothing on the crank touches the backward part or the second order, whose
    factor is lambda = crank radius / rod length.

    Examples
    --------
    >>> from bench.computation.engine import Cylinder, engine_inertia
    >>> single = engine_inertia([Cylinder(pin_deg=0.0, bank_deg=0.0, position=0.0)])
    >>> running = RunningEngine(reciprocating_g=1000.0, crank_radius_mm=40.0, rod_length_mm=160.0,
    ...                         speed_rpm=3000.0, mm_per_position=100.0)
    >>> force = left_over(single, running, reciprocating_share=0.5).first_order.force
    >>> round(force.peak, 1), round(force.least, 1)
    (1973.9, 1973.9)
    """
    share(reciprocating_share, quantity="reciprocating_share")
    not_negative(running.reciprocating_g, quantity="reciprocating_g")
    positive(running.crank_radius_mm, quantity="crank_radius_mm")
    positive(running.rod_length_mm, quantity="rod_length_mm")
    positive(running.speed_rpm, quantity="speed_rpm")
    positive(running.mm_per_position, quantity="mm_per_position")
    if not running.crank_radius_mm < running.rod_length_mm:
        raise QuantityError(
            "rod_length_mm",
            found=running.rod_length_mm,
            wanted=f"more than the crank radius, {running.crank_radius_mm}",
        )
    omega = running.speed_rpm * math.tau / 60.0
    # g mm -> kg m
    newtons = running.reciprocating_g * running.crank_radius_mm * 1e-6 * omega * omega
    metres = running.mm_per_position / 1000.0
    lambda_ = running.crank_radius_mm / running.rod_length_mm
    representable(newtons * max(metres, 1.0), quantity="force_n")
    kept = 1.0 - 2.0 * reciprocating_share
    return LeftOver(
        first_order=_order(inertia.first_order, forward=newtons * kept, backward=newtons, metres=metres),
        second_order=_order(inertia.second_order, forward=newtons * lambda_, backward=newtons * lambda_, metres=metres),
    )


def _order(order: Order, *, forward: float, backward: float, metres: float) -> Order:
    def in_newtons(pair: TurningPair, arm: float) -> TurningPair:
        scaled = pair.scaled(forward=forward * arm, backward=backward * arm)
        representable(scaled.peak, quantity="force_n")
        return scaled

    return Order(force=in_newtons(order.force, 1.0), couple=in_newtons(order.couple, metres))

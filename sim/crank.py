"""Cranks and discs of the demo worlds, built of point masses so that ideal bobweights leave a known beginning."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sim.rotor import Rotor, at_angle


@dataclass(frozen=True, slots=True)
class CrankDesign:
    """Where everything sits on one crank.

    Attributes
    ----------
    pins_rad : tuple[float, ...]
        Angle of each throw's crankpin, seen from the front. [rad]
    pins_m : tuple[float, ...]
        Place of each crankpin along the shaft. [m]
    pin_radius_m : float
        Half the stroke. [m]
    pin_kg : float
        Mass of a crankpin with the parts of the cheeks around it. [kg]
    cheek_offset_m : float
        How far each of a throw's two counterweights lies from the pin's middle. [m]
    planes_m : tuple[float, float]
        Front and rear correction plane. [m]
    supports_m : tuple[float, float]
        Front and rear support of the balancing machine. [m]
    correction_radius_m : float
        Radius at which corrections are told. [m]
    counterweight_radius_m : float
        Where a counterweight's mass sits. [m]
    body_kg : float
        Journals and all else on the axis. [kg]
    start_kg : tuple[float, float]
        Excess left in the front and the rear plane when ideal bobweights sit on the crank. [kg]
    """

    pins_rad: tuple[float, ...]
    pins_m: tuple[float, ...]
    pin_radius_m: float
    pin_kg: float
    cheek_offset_m: float
    planes_m: tuple[float, float]
    supports_m: tuple[float, float]
    correction_radius_m: float
    counterweight_radius_m: float
    body_kg: float
    start_kg: tuple[float, float]


V8_CRANK = CrankDesign(
    pins_rad=(0.0, math.pi / 2, 3 * math.pi / 2, math.pi),
    pins_m=(0.060, 0.170, 0.280, 0.390),
    pin_radius_m=0.046,
    pin_kg=1.05,
    cheek_offset_m=0.036,
    planes_m=(0.0, 0.450),
    supports_m=(0.115, 0.335),
    correction_radius_m=0.090,
    counterweight_radius_m=0.062,
    body_kg=16.0,
    start_kg=(0.070, 0.040),
)

V6_CRANK = CrankDesign(
    # three pairs of pins 120 degrees apart, the pins of a pair turned by 60 degrees against each other
    pins_rad=tuple(math.radians(a) for a in (0.0, 60.0, 240.0, 300.0, 120.0, 180.0)),
    pins_m=(0.045, 0.080, 0.150, 0.185, 0.255, 0.290),
    pin_radius_m=0.041,
    pin_kg=0.55,
    cheek_offset_m=0.012,
    planes_m=(0.0, 0.335),
    supports_m=(0.115, 0.220),
    correction_radius_m=0.080,
    counterweight_radius_m=0.056,
    body_kg=10.0,
    start_kg=(0.046, 0.031),
)


@dataclass(slots=True)
class Crank:
    """One real crank: its design, its metal, and how its holes come out.

    Attributes
    ----------
    design : CrankDesign
        Where everything sits.
    rotor : Rotor
        The bare crank, holes included, without bobweights.
    stations_m : tuple[tuple[float, ...], tuple[float, ...]]
        Where a drill can stand along the shaft, at the front and at the rear counterweight. [m]
    arcs_rad : tuple[tuple[float, float], tuple[float, float]]
        Middle and half width of the arc of metal at the front and at the rear counterweight. [rad]
    """

    design: CrankDesign
    rotor: Rotor
    stations_m: tuple[tuple[float, ...], tuple[float, ...]]
    arcs_rad: tuple[tuple[float, float], tuple[float, float]]

    def spun(self, bobweights_kg: dict[int, float]) -> Rotor:
        """Return the crank with bobweights clamped on its throws.

        Parameters
        ----------
        bobweights_kg : dict[int, float]
            True mass by throw. [kg]

        Returns
        -------
        Rotor
            A copy; the bare crank stays as it is.
        """
        rotor = Rotor(self.rotor.supports_m, list(self.rotor.masses))
        for throw, mass_kg in sorted(bobweights_kg.items()):
            rotor.add(
                at_angle(
                    mass_kg=mass_kg,
                    radius_m=self.design.pin_radius_m,
                    angle_rad=self.design.pins_rad[throw - 1],
                    z_m=self.design.pins_m[throw - 1],
                    what=f"bobweight {throw}",
                )
            )
        return rotor

    def excess_kg(self, bobweights_kg: dict[int, float]) -> tuple[complex, complex]:
        """Return the true excess of both planes by statics.

        Parameters
        ----------
        bobweights_kg : dict[int, float]
            True mass by throw. [kg]

        Returns
        -------
        tuple[complex, complex]
            Front and rear, at the correction radius. [kg]
        """
        return self.spun(bobweights_kg).excess_at(self.design.planes_m, self.design.correction_radius_m)


def build_crank(design: CrankDesign, needs_kg: dict[int, float], rng: np.random.Generator) -> Crank:
    """Build a crank whose counterweights are right for ideal bobweights, but for what the foundry left.

    Each throw has a counterweight on both sides, opposite to its pin, which together hold the pin and the ideal
    bobweight: eight for four throws. The error of the casting is then cast onto the outermost two, as whatever mass
    makes the excess in the two correction planes the wanted one.

    Parameters
    ----------
    design : CrankDesign
        Where everything sits.
    needs_kg : dict[int, float]
        What each throw truly needs. [kg]
    rng : np.random.Generator
        Source of chance: where the excess points, how large it is exactly, where the drill can stand.

    Returns
    -------
    Crank
        The bare crank.
    """
    rotor = Rotor(design.supports_m)
    rotor.add(at_angle(mass_kg=design.body_kg, radius_m=0.0, angle_rad=0.0, z_m=sum(design.planes_m) / 2, what="body"))
    for throw, (angle, z_m) in enumerate(zip(design.pins_rad, design.pins_m, strict=True), start=1):
        rotor.add(
            at_angle(
                mass_kg=design.pin_kg, radius_m=design.pin_radius_m, angle_rad=angle, z_m=z_m, what=f"crankpin {throw}"
            )
        )
        held_kg = (design.pin_kg + needs_kg[throw]) * design.pin_radius_m / design.counterweight_radius_m
        for side in (-1, 1):
            rotor.add(
                at_angle(
                    mass_kg=held_kg / 2,
                    radius_m=design.counterweight_radius_m,
                    angle_rad=angle + math.pi,
                    z_m=z_m + side * design.cheek_offset_m,
                    what=f"counterweight {2 * throw - (1 if side < 0 else 0)}",
                )
            )
    middles = (design.pins_rad[0] + math.pi, design.pins_rad[-1] + math.pi)
    half_width = math.radians(55.0)
    for plane_m, middle, amount_kg in zip(design.planes_m, middles, design.start_kg, strict=True):
        rotor.add(
            at_angle(
                mass_kg=amount_kg * float(rng.uniform(0.94, 1.06)),
                radius_m=design.correction_radius_m,
                angle_rad=middle + float(rng.uniform(-0.6, 0.6)),
                z_m=plane_m,
                what="error of the casting",
            )
        )
    inset = float(rng.uniform(0.016, 0.034))
    front_m, rear_m = design.planes_m
    stations = ((front_m + inset, front_m + inset + 0.014), (rear_m - inset, rear_m - inset - 0.014))
    return Crank(design, rotor, stations, ((middles[0], half_width), (middles[1], half_width)))


def build_flywheel(rng: np.random.Generator) -> Crank:
    """Build a flywheel: one disc, one plane that matters, no throws.

    Parameters
    ----------
    rng : np.random.Generator
        Source of chance.

    Returns
    -------
    Crank
        The disc between the supports; both planes are told, the disc's own is the front one.
    """
    design = CrankDesign(
        pins_rad=(),
        pins_m=(),
        pin_radius_m=0.0,
        pin_kg=0.0,
        cheek_offset_m=0.0,
        planes_m=(0.100, 0.200),
        supports_m=(0.040, 0.260),
        correction_radius_m=0.130,
        counterweight_radius_m=0.130,
        body_kg=11.5,
        start_kg=(0.028, 0.0),
    )
    rotor = Rotor(design.supports_m)
    rotor.add(at_angle(mass_kg=design.body_kg, radius_m=0.0, angle_rad=0.0, z_m=0.100, what="disc"))
    angle = float(rng.uniform(0.0, 2 * math.pi))
    rotor.add(
        at_angle(
            mass_kg=design.start_kg[0] * float(rng.uniform(0.9, 1.1)),
            radius_m=design.correction_radius_m,
            angle_rad=angle,
            z_m=0.100,
            what="error of the disc",
        )
    )
    everywhere = (0.0, math.pi)
    return Crank(design, rotor, ((0.100,), (0.100,)), (everywhere, everywhere))

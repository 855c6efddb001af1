"""A rigid rotor made of point masses, carried by two supports: statics in Cartesian SI.

Seen from the front, x points right and y up; z runs along the shaft from front to rear. Angles are those of the
plane as seen from the front, counter-clockwise from x, which is where the crank's zero mark lies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class PointMass:
    """A lump fixed to the shaft; a negative mass is metal taken away.

    Attributes
    ----------
    mass_kg : float
        Its mass. [kg]
    x_m : float
        To the right, seen from the front. [m]
    y_m : float
        Upwards. [m]
    z_m : float
        Along the shaft, towards the rear. [m]
    what : str
        What it stands for, in words.
    """

    mass_kg: float
    x_m: float
    y_m: float
    z_m: float
    what: str = ""


def at_angle(*, mass_kg: float, radius_m: float, angle_rad: float, z_m: float, what: str = "") -> PointMass:
    """Return a point mass given by radius and angle.

    Parameters
    ----------
    mass_kg : float
        Its mass. [kg]
    radius_m : float
        Distance from the axis. [m]
    angle_rad : float
        Counter-clockwise from x, seen from the front. [rad]
    z_m : float
        Along the shaft. [m]
    what : str
        What it stands for.

    Returns
    -------
    PointMass
        The mass in Cartesian coordinates.
    """
    return PointMass(mass_kg, radius_m * math.cos(angle_rad), radius_m * math.sin(angle_rad), z_m, what)


@dataclass(frozen=True, slots=True)
class Pull:
    """A turning force on a support at the moment when the zero mark points along x.

    Attributes
    ----------
    x_n : float
        To the right. [N]
    y_n : float
        Upwards. [N]
    """

    x_n: float
    y_n: float


@dataclass(slots=True)
class Rotor:
    """Masses on one rigid shaft between two supports.

    Attributes
    ----------
    supports_m : tuple[float, float]
        Places of the front and the rear support. [m]
    masses : list[PointMass]
        Everything that turns.
    """

    supports_m: tuple[float, float]
    masses: list[PointMass] = field(default_factory=list[PointMass])

    def __post_init__(self) -> None:
        front, rear = self.supports_m
        if not rear > front:
            raise ValueError(f"supports at {front} m and {rear} m: the rear one must lie behind the front one")

    def add(self, mass: PointMass) -> None:
        """Fix one more mass.

        Parameters
        ----------
        mass : PointMass
            What is fixed.
        """
        self.masses.append(mass)

    def drill(self, *, mass_kg: float, radius_m: float, angle_rad: float, z_m: float) -> None:
        """Take metal away at one place.

        Parameters
        ----------
        mass_kg : float
            Metal that leaves. [kg]
        radius_m : float
            Where its centre was. [m]
        angle_rad : float
            Where its centre was. [rad]
        z_m : float
            Where its centre was. [m]
        """
        self.add(at_angle(mass_kg=-mass_kg, radius_m=radius_m, angle_rad=angle_rad, z_m=z_m, what="hole"))

    def support_pulls(self, speed_rad_per_s: float) -> tuple[Pull, Pull]:
        """Return what the turning masses do to the front and the rear support.

        Each mass pulls outwards with m r w^2. The sum of the forces and of their moments about the front support,
        taken up by two supports, gives the two pulls.

        Parameters
        ----------
        speed_rad_per_s : float
            Speed. [rad/s]

        Returns
        -------
        tuple[Pull, Pull]
            Front and rear support, in the frame that turns with the crank. [N]
        """
        front_m, rear_m = self.supports_m
        square = speed_rad_per_s * speed_rad_per_s
        force_x = force_y = moment_x = moment_y = 0.0
        for lump in self.masses:
            pull_x = lump.mass_kg * lump.x_m * square
            pull_y = lump.mass_kg * lump.y_m * square
            arm = lump.z_m - front_m
            force_x += pull_x
            force_y += pull_y
            moment_x += pull_x * arm
            moment_y += pull_y * arm
        span = rear_m - front_m
        rear = Pull(moment_x / span, moment_y / span)
        return Pull(force_x - rear.x_n, force_y - rear.y_n), rear

    def excess_at(self, planes_m: tuple[float, float], radius_m: float) -> tuple[complex, complex]:
        """Return the two masses that stand for everything off the axis, x real and y imaginary.

        Parameters
        ----------
        planes_m : tuple[float, float]
            Places of the front and the rear plane. [m]
        radius_m : float
            Radius at which the masses are told. [m]

        Returns
        -------
        tuple[complex, complex]
            Excess mass in the front and the rear plane. [kg]
        """
        front_m, rear_m = planes_m
        total = sum((lump.mass_kg * complex(lump.x_m, lump.y_m) for lump in self.masses), 0j)
        tilting = sum((lump.mass_kg * complex(lump.x_m, lump.y_m) * (lump.z_m - front_m) for lump in self.masses), 0j)
        rear = tilting / (rear_m - front_m)
        return (total - rear) / radius_m, rear / radius_m

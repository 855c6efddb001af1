"""Drilled holes and heavy metal slugs: how much unbalance a depth makes, and which depth an amount needs."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from bench.computation.bracketed_root import bracketed_root
from bench.computation.checks import not_negative, positive, representable
from bench.computation.errors import QuantityError

SLICES = 512
"""Slices of the curved cap's integral; the trapezoidal rule over a whole period converges exponentially."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """A drill, and the round counterweight it enters radially.

    Attributes
    ----------
    diameter_mm : float
        Drill diameter. [mm]
    point_deg : float
        Included angle of the point, above 0 and up to 180. [deg]
    outer_radius_mm : float
        Radius of the counterweight where the hole starts. [mm]
    density_g_cm3 : float
        Density of the counterweight. [g/cm3]
    slug_density_g_cm3 : float | None
        Density of the heavy metal that fills the hole; None for an empty hole. [g/cm3]
    depth_limit_mm : float | None
        Deepest the person allows; None leaves only the geometry. [mm]
    """

    diameter_mm: float
    point_deg: float
    outer_radius_mm: float
    density_g_cm3: float
    slug_density_g_cm3: float | None = None
    depth_limit_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Hole:
    """What a hole takes away, or what a slug in it adds net of the metal it replaces.

    Attributes
    ----------
    depth_mm : float
        Depth at full diameter on the hole's axis, from the outer radius. [mm]
    volume_mm3 : float
        Metal removed. [mm3]
    grams : float
        Mass removed; with a slug the mass gained. [g]
    centroid_radius_mm : float
        Radius at which that mass acts. [mm]
    amount_g_mm : float
        Change of unbalance in the direction of the hole. [g mm]
    """

    depth_mm: float
    volume_mm3: float
    grams: float
    centroid_radius_mm: float
    amount_g_mm: float


def curved_cap_volume(*, diameter_mm: float, outer_radius_mm: float) -> float:
    """Return the volume between a round surface and the flat that touches it, inside the drill's diameter.

    Parameters
    ----------
    diameter_mm : float
        Drill diameter. [mm]
    outer_radius_mm : float
        Radius of the surface, more than half the diameter. [mm]

    Returns
    -------
    float
        What a hole measured from the flat does not remove. [mm3]

    Raises
    ------
    QuantityError
        If an input is not finite and above zero, or the drill is wider than the part.

    Notes
    -----
    Exact integral of R - sqrt(R^2 - y^2) over the circle of radius a; about pi a^4 / (8 R).

    Examples
    --------
    >>> round(curved_cap_volume(diameter_mm=12.7, outer_radius_mm=88.0), 6)
    7.26031
    """
    a = positive(diameter_mm, quantity="diameter_mm") / 2.0
    radius = positive(outer_radius_mm, quantity="outer_radius_mm")
    if not a < radius:
        raise QuantityError("diameter_mm", found=diameter_mm, wanted=f"less than twice the outer radius, {2 * radius}")
    ratio = a / radius
    total = 0.0
    for k in range(SLICES):
        sine = math.sin(math.pi * k / SLICES)
        # y = a sin(angle); R - sqrt(R^2 - y^2) without losing digits
        drop = (ratio * sine) ** 2 / (1.0 + math.sqrt(1.0 - (ratio * sine) ** 2))
        total += drop * (1.0 - sine * sine)
    return 2.0 * a * a * radius * total * math.pi / SLICES


def hole_of_depth(drill: Drill, *, depth_mm: float) -> Hole:
    """Return what a hole of this depth takes away, or its slug adds.

    Parameters
    ----------
    drill : Drill
        Drill and counterweight.
    depth_mm : float
        Depth at full diameter on the hole's axis, from the outer radius. [mm]

    Returns
    -------
    Hole
        Volume, mass, centroid and change of unbalance.

    Raises
    ------
    QuantityError
        If a figure is not finite and above zero, the drill does not yet cut its full diameter all round, the tip
        would pass the axis or the person's limit, or the slug is not denser than the metal it replaces.

    Notes
    -----
    Geometry: cylinder and cone (height D / (2 tan(a/2)), volume pi D^3 / (24 tan(a/2))) less the curved cap. The
    moment integral of r dV is exact: the cap's is pi a^4 / 8 whatever the radius. Each further millimetre removes
    less, because it lies nearer the axis.

    Examples
    --------
    >>> drill = Drill(diameter_mm=12.7, point_deg=118.0, outer_radius_mm=88.0, density_g_cm3=7.85)
    >>> hole = hole_of_depth(drill, depth_mm=25.0)
    >>> round(hole.grams, 3), round(hole.amount_g_mm, 1)
    (26.068, 1950.4)
    """
    shape = _Shape.of(drill)
    if not shape.least_mm <= depth_mm:
        raise QuantityError(
            "depth_mm",
            found=depth_mm,
            wanted=f"at least {shape.least_mm:.6g} mm, where the drill cuts its full diameter all round",
        )
    if not depth_mm <= shape.most_mm:
        raise QuantityError("depth_mm", found=depth_mm, wanted=f"at most {shape.most_mm:.6g} mm: {shape.most_words}")
    return shape.hole(depth_mm)


def depth_for_amount(drill: Drill, *, amount_g_mm: float) -> Hole:
    """Return the hole that makes this change of unbalance.

    Parameters
    ----------
    drill : Drill
        Drill and counterweight.
    amount_g_mm : float
        Change of unbalance wanted. [g mm]

    Returns
    -------
    Hole
        Its depth and the rest.

    Raises
    ------
    QuantityError
        As `hole_of_depth`; also if the amount lies below or above what this drill can make, with the limit named.

    Notes
    -----
    The change of unbalance rises with the depth, so one root lies between the least and the greatest depth.

    Examples
    --------
    >>> drill = Drill(diameter_mm=12.7, point_deg=118.0, outer_radius_mm=88.0, density_g_cm3=7.85)
    >>> round(depth_for_amount(drill, amount_g_mm=1950.4).depth_mm, 2)
    25.0
    """
    return _hole_reaching(
        drill, wanted=amount_g_mm, quantity="amount_g_mm", unit="g mm", figure=lambda hole: hole.amount_g_mm
    )


def depth_for_grams(drill: Drill, *, grams: float) -> Hole:
    """Return the hole that takes this mass away, or whose slug gains it.

    Parameters
    ----------
    drill : Drill
        Drill and counterweight.
    grams : float
        Mass wanted. [g]

    Returns
    -------
    Hole
        Its depth and the rest.

    Raises
    ------
    QuantityError
        As `depth_for_amount`.

    Notes
    -----
    The mass rises with the depth, so one root lies between the least and the greatest depth.

    Examples
    --------
    >>> drill = Drill(diameter_mm=12.7, point_deg=118.0, outer_radius_mm=88.0, density_g_cm3=7.85)
    >>> round(depth_for_grams(drill, grams=26.068).depth_mm, 2)
    25.0
    """
    return _hole_reaching(drill, wanted=grams, quantity="grams", unit="g", figure=lambda hole: hole.grams)


def _hole_reaching(drill: Drill, *, wanted: float, quantity: str, unit: str, figure: Callable[[Hole], float]) -> Hole:
    shape = _Shape.of(drill)
    positive(wanted, quantity=quantity)
    least, most = figure(shape.hole(shape.least_mm)), figure(shape.hole(shape.most_mm))
    if wanted < least:
        raise QuantityError(
            quantity,
            found=wanted,
            wanted=f"at least {least:.6g} {unit}, the least this drill takes: take a smaller drill",
        )
    if wanted > most:
        raise QuantityError(
            quantity,
            found=wanted,
            wanted=f"at most {most:.6g} {unit} at {shape.most_mm:.6g} mm depth: {shape.most_words}",
        )
    depth_mm = bracketed_root(lambda depth: figure(shape.hole(depth)) - wanted, low=shape.least_mm, high=shape.most_mm)
    return shape.hole(depth_mm)


@dataclass(frozen=True, slots=True)
class _Shape:
    """The drill's geometry worked out once: lengths in mm, volumes in mm3."""

    radius_mm: float
    area_mm2: float
    cone_height_mm: float
    cap_volume_mm3: float
    cap_moment_mm4: float
    density_g_mm3: float
    least_mm: float
    most_mm: float
    most_words: str

    @classmethod
    def of(cls, drill: Drill) -> _Shape:
        cap_volume_mm3 = curved_cap_volume(diameter_mm=drill.diameter_mm, outer_radius_mm=drill.outer_radius_mm)
        if not 0.0 < drill.point_deg <= 180.0:
            raise QuantityError("point_deg", found=drill.point_deg, wanted="above 0 and at most 180 degrees")
        density = positive(drill.density_g_cm3, quantity="density_g_cm3")
        if drill.slug_density_g_cm3 is not None:
            positive(drill.slug_density_g_cm3, quantity="slug_density_g_cm3")
            if not drill.slug_density_g_cm3 > density:
                raise QuantityError(
                    "slug_density_g_cm3", found=drill.slug_density_g_cm3, wanted=f"more than the metal, {density}"
                )
            density = drill.slug_density_g_cm3 - density
        a, radius = drill.diameter_mm / 2.0, drill.outer_radius_mm
        cone_height_mm = a / math.tan(math.radians(drill.point_deg / 2.0))
        most_mm, most_words = radius - cone_height_mm, "there the drill's tip reaches the axis"
        if drill.depth_limit_mm is not None:
            not_negative(drill.depth_limit_mm, quantity="depth_limit_mm")
            if drill.depth_limit_mm < most_mm:
                most_mm, most_words = drill.depth_limit_mm, "the depth limit set for this place"
        # the flat touches the surface on the axis; at the drill's rim the surface lies this much lower
        least_mm = a * a / (radius + math.sqrt((radius - a) * (radius + a)))
        if not least_mm < most_mm:
            raise QuantityError(
                "diameter_mm", found=drill.diameter_mm, wanted="a drill small enough for this radius, point and depth"
            )
        return cls(
            radius_mm=radius,
            area_mm2=math.pi * a * a,
            cone_height_mm=cone_height_mm,
            cap_volume_mm3=cap_volume_mm3,
            cap_moment_mm4=representable(math.pi * a * a * a * a / 8.0, quantity="diameter_mm"),
            density_g_mm3=density / 1000.0,
            least_mm=least_mm,
            most_mm=most_mm,
            most_words=most_words,
        )

    def hole(self, depth_mm: float) -> Hole:
        cylinder = self.area_mm2 * depth_mm
        cone = self.area_mm2 * self.cone_height_mm / 3.0
        volume = cylinder + cone - self.cap_volume_mm3
        moment = (
            cylinder * (self.radius_mm - depth_mm / 2.0)
            + cone * (self.radius_mm - depth_mm - self.cone_height_mm / 4.0)
            - self.cap_moment_mm4
        )
        return Hole(
            depth_mm=depth_mm,
            volume_mm3=representable(volume, quantity="volume_mm3"),
            grams=representable(self.density_g_mm3 * volume, quantity="grams"),
            centroid_radius_mm=representable(moment / volume, quantity="centroid_radius_mm"),
            amount_g_mm=representable(self.density_g_mm3 * moment, quantity="amount_g_mm"),
        )

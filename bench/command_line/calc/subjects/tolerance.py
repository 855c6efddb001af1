"""`calc tolerance`."""

from __future__ import annotations

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, Positive
from bench.computation.unbalance import (
    allocated_to_planes,
    permissible_eccentricity,
    permissible_residual_unbalance,
)
from bench.computation.unbalance_units import grams_at_radius


class Distances(CalcValue):
    """From the mass centre to the two planes."""

    a: Positive
    b: Positive


class Asked(CalcValue):
    """Grade, rotor, speed, and where the planes are."""

    grade_mm_per_s: Positive
    rotor_mass_kg: Positive
    speed_rpm: Positive
    distances_mm: Distances | None = None
    correction_radius_mm: Positive | None = None


class Plane(CalcValue):
    """One plane's limit."""

    U_per_g_mm: float
    grams_at_radius: float | None = None


class Answered(CalcValue):
    """The limits; one plane takes the whole where no distances are given."""

    e_per_um: float
    U_per_g_mm: float
    planes: tuple[Plane, ...]
    shares_limited: bool


def answer(asked: Asked) -> Answered:
    """Return what the rotor may keep.

    Parameters
    ----------
    asked : Asked
        Grade, rotor and speed.

    Returns
    -------
    Answered
        The whole and each plane's share.
    """
    whole = permissible_residual_unbalance(
        grade_mm_per_s=asked.grade_mm_per_s, rotor_mass_kg=asked.rotor_mass_kg, speed_rpm=asked.speed_rpm
    )
    shares: tuple[float, ...] = (whole,)
    limited = False
    if asked.distances_mm is not None:
        allocation = allocated_to_planes(whole, distance_a_mm=asked.distances_mm.a, distance_b_mm=asked.distances_mm.b)
        shares, limited = (allocation.a_g_mm, allocation.b_g_mm), allocation.limited
    radius_mm = asked.correction_radius_mm
    return Answered(
        e_per_um=permissible_eccentricity(grade_mm_per_s=asked.grade_mm_per_s, speed_rpm=asked.speed_rpm),
        U_per_g_mm=whole,
        planes=tuple(
            Plane(
                U_per_g_mm=share,
                grams_at_radius=None if radius_mm is None else grams_at_radius(share, radius_mm=radius_mm),
            )
            for share in shares
        ),
        shares_limited=limited,
    )


SUBJECT = Subject(
    words="permissible residual unbalance of a balance quality grade, shared between planes",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"grade_mm_per_s": 6.3, "rotor_mass_kg": 25, "speed_rpm": 4600, "distances_mm": {"a": 210, "b": 190},
 "correction_radius_mm": 88}""",
    example_answer="""\
{"e_per_um": 13.078384454073138, "U_per_g_mm": 326.95961135182847,
 "planes": [{"U_per_g_mm": 155.30581539211852, "grams_at_radius": 1.764838811274074},
 {"U_per_g_mm": 171.65379595970995, "grams_at_radius": 1.9506113177239768}], "shares_limited": false}""",
    fields={
        "permissible_g_mm": "grade_mm_per_s",
        "distance_a_mm": "distances_mm.a",
        "distance_b_mm": "distances_mm.b",
    },
)

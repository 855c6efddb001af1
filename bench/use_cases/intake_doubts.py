"""What could be a slip in a new job: each doubt with its reason, to be confirmed, never refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bench.computation.unbalance import permissible_residual_unbalance
from bench.models.job import JobSpec

OIL_MOST_G = 15.0
RADIUS_MM = (25.0, 300.0)
LIMIT_G = (0.05, 10.0)
BAND_MOST_G = 1.0
MASS_A_THROW_KG = (0.8, 25.0)
SPEED_RPM = (300.0, 15_000.0)
GRADES = (0.4, 40.0)
FAR_APART = 5.0


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing to look at again.

    Attributes
    ----------
    field : str
        Which field: "share", "oil", "radius", "limit", "band", "mass", "speed", "grade".
    words : str
        What was found, what is usual, and why it matters.
    """

    field: str
    words: str


def doubts_of(spec: JobSpec) -> tuple[Doubt, ...]:
    """Return what looks like a slip.

    Parameters
    ----------
    spec : JobSpec
        The job as intake asked for it.

    Returns
    -------
    tuple[Doubt, ...]
        Empty when everything is usual. The bounds are common practice, no source.
    """
    return tuple(_doubts(spec))


def _doubts(spec: JobSpec) -> Iterator[Doubt]:
    share = 100.0 * spec.reciprocating_share
    if spec.layout.throws and share != 50.0:
        yield Doubt(
            "share",
            f"{share:g} % of the reciprocating weight: 50 % takes the whole forward first order away in any layout; "
            "another share leaves some of it",
        )
    if spec.oil_g > OIL_MOST_G:
        yield Doubt("oil", f"{spec.oil_g:g} g of oil a throw: usual is 2 to 8 g; it counts in every bobweight")
    for plane in spec.planes:
        if not RADIUS_MM[0] <= plane.radius_mm <= RADIUS_MM[1]:
            words = f"{plane.radius_mm:g} mm correction radius: usual is {RADIUS_MM[0]:g} to {RADIUS_MM[1]:g} mm; "
            yield Doubt("radius", words + "every limit and every hole depends on it")
            break
    yield from _limits(spec)
    yield from _rotor(spec)


def _limits(spec: JobSpec) -> Iterator[Doubt]:
    limit = spec.tolerance.shop_limit_g
    if limit is not None and not LIMIT_G[0] <= limit <= LIMIT_G[1]:
        yield Doubt("limit", f"{limit:g} g limit a plane: usual is 0.2 to 5 g; it decides what counts as done")
    if limit is not None and limit <= spec.tolerance.spin_uncertainty_g:
        yield Doubt(
            "limit",
            f"{limit:g} g limit with {spec.tolerance.spin_uncertainty_g:g} g uncertainty of a reading: "
            "no run could ever be called inside",
        )
    if spec.tolerance.bobweight_g > BAND_MOST_G:
        words = f"{spec.tolerance.bobweight_g:g} g band of a bobweight: usual is 0.05 to 0.5 g"
        yield Doubt("band", f"{words}; what is missing there turns up at the spin")
    grade, mass, speed = spec.tolerance.grade_mm_per_s, spec.rotor_mass_kg, spec.speed_rpm
    if grade is None or mass is None or speed is None:
        return
    if not GRADES[0] <= grade <= GRADES[1]:
        yield Doubt("grade", f"G {grade:g}: usual for engines and their rotors is G 2.5 to G 16")
    if limit is not None:
        whole = permissible_residual_unbalance(grade_mm_per_s=grade, rotor_mass_kg=mass, speed_rpm=speed)
        by_grade = whole / len(spec.planes) / spec.planes[0].radius_mm
        if not 1.0 / FAR_APART <= limit / by_grade <= FAR_APART:
            words = f"{limit:g} g shop limit, but G {grade:g} gives {by_grade:.2f} g at this radius"
            yield Doubt("grade", f"{words}: the stricter one decides, is that meant?")


def _rotor(spec: JobSpec) -> Iterator[Doubt]:
    throws = max(1, len(spec.layout.throws))
    low, high = MASS_A_THROW_KG[0] * throws, MASS_A_THROW_KG[1] * throws
    if spec.rotor_mass_kg is not None and not low <= spec.rotor_mass_kg <= high:
        words = f"{spec.rotor_mass_kg:g} kg for {throws} throws" if spec.layout.throws else f"{spec.rotor_mass_kg:g} kg"
        yield Doubt("mass", f"{words}: usual is {low:g} to {high:g} kg; the grade's limit depends on it")
    if spec.speed_rpm is not None and not SPEED_RPM[0] <= spec.speed_rpm <= SPEED_RPM[1]:
        yield Doubt("speed", f"{spec.speed_rpm:g} 1/min: usual is 300 to 15,000; the grade's limit depends on it")

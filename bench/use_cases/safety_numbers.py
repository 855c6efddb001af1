"""The numbers of a job that safety hangs on, as they are said back before a job is opened with them."""

from __future__ import annotations

from bench.models.job import JobSpec

Numbers = tuple[tuple[str, str], ...]


def numbers_of(spec: JobSpec) -> Numbers:
    """Return what decides when a crank is done: words and value with its unit, as the program took them.

    Parameters
    ----------
    spec : JobSpec
        The job.

    Returns
    -------
    Numbers
        Tolerance and radii first.
    """
    told: list[tuple[str, str]] = []
    tolerance = spec.tolerance
    if tolerance.shop_limit_g is not None:
        told.append(("limit of each plane, at the correction radius", f"{tolerance.shop_limit_g:.4g} g"))
    if tolerance.grade_mm_per_s is not None:
        told.append(("balance quality grade", f"G {tolerance.grade_mm_per_s:g}"))
        told.append(("rotor and speed", f"{spec.rotor_mass_kg or 0:.4g} kg {spec.speed_rpm or 0:.5g} rpm"))
    radii = {f"{plane.radius_mm:.5g} mm" for plane in spec.planes}
    if len(radii) == 1:
        told.append(("correction radius", radii.pop()))
    else:
        told += [(f"correction radius, {plane.name}", f"{plane.radius_mm:.5g} mm") for plane in spec.planes]
    return tuple(told)

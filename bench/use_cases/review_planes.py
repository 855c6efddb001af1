"""The last run, judged: each plane against its limit, with the guard band."""

from __future__ import annotations

from bench.computation.unbalance import (
    PlaneVerdict,
    permissible_residual_unbalance,
    plane_verdict,
    stricter_limit_g,
)
from bench.models.job import CorrectionPlane, JobSpec
from bench.models.job_state import JobState
from bench.models.tooling import rotors_own, tooling_parts
from bench.use_cases.view import PlaneLine


def plane_limit(spec: JobSpec, plane: CorrectionPlane) -> tuple[float, str]:
    """Return a plane's limit and where it comes from.

    Parameters
    ----------
    spec : JobSpec
        The job.
    plane : CorrectionPlane
        The plane.

    Returns
    -------
    tuple[float, str]
        Grams at the correction radius [g], and words.
    """
    shop, grade = spec.tolerance.shop_limit_g, spec.tolerance.grade_mm_per_s
    share_g_mm: float | None = None
    if grade is not None and spec.rotor_mass_kg is not None and spec.speed_rpm is not None:
        whole = permissible_residual_unbalance(
            grade_mm_per_s=grade, rotor_mass_kg=spec.rotor_mass_kg, speed_rpm=spec.speed_rpm
        )
        # half to each plane: where the mass centre lies between the planes is not asked at intake
        share_g_mm = whole / len(spec.planes)
    limit = stricter_limit_g(shop_limit_g=shop, grade_limit_g_mm=share_g_mm, radius_mm=plane.radius_mm)
    if share_g_mm is not None and (shop is None or limit < shop):
        return limit, f"balance quality grade G {grade:g} of ISO 21940-11"
    return limit, "shop limit"


def review_planes(state: JobState) -> tuple[PlaneLine, ...]:
    """Return each plane as the last run shows it.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[PlaneLine, ...]
        In the job's order; UNKNOWN before the first run and after cuts that no run has seen.
    """
    last = state.spins[-1] if state.spins else None
    stale = last is not None and len(state.cuts) > last.after_cuts
    own = rotors_own(state, last) if last else ()
    freed = "the bobweight set's part taken off, " if tooling_parts(state) else ""
    lines: list[PlaneLine] = []
    for plane in state.spec.planes:
        limit, limit_words = plane_limit(state.spec, plane)
        amount = next((p for p in own if p.plane == plane.name), None)
        if amount is None:
            lines.append(
                PlaneLine(plane.name, None, None, limit, limit_words, PlaneVerdict.UNKNOWN, f"{plane.name}: no run yet")
            )
            continue
        verdict = plane_verdict(
            residual=amount.amount_g, limit=limit, uncertainty=state.spec.tolerance.spin_uncertainty_g
        )
        if stale:
            verdict = PlaneVerdict.UNKNOWN
        words = f"{plane.name} {amount.amount_g:.2f} g at {amount.angle_deg:.1f}°, {freed}limit {limit:.2f} g: "
        words += "cut since, spin again" if stale else verdict.value
        lines.append(PlaneLine(plane.name, amount.amount_g, amount.angle_deg, limit, limit_words, verdict, words))
    return tuple(lines)

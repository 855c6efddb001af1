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
from bench.models.on_crank import names_of, no_verdict_words, with_all
from bench.models.tooling import tooling_parts
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
        In the job's order; UNKNOWN before the first run, after cuts that no run has seen, and for a run without all
        the parts that belong on the crank.
    """
    last = state.spins[-1] if state.spins else None
    stale = last is not None and len(state.cuts) > last.after_cuts
    whole = with_all(state, last) if last else None
    freed = "the bobweight set's part taken off, " if tooling_parts(state) else ""
    lines: list[PlaneLine] = []
    for index, plane in enumerate(state.spec.planes):
        limit, limit_words = plane_limit(state.spec, plane)
        amount = next((p for p in whole.planes if p.plane == plane.name), None) if whole is not None else None
        if whole is None or amount is None:
            lines.append(
                PlaneLine(plane.name, None, None, limit, limit_words, PlaneVerdict.UNKNOWN, f"{plane.name}: no run yet")
            )
            continue
        verdict = plane_verdict(
            residual=amount.amount_g, limit=limit, uncertainty=state.spec.tolerance.spin_uncertainty_g
        )
        if stale or not whole.final:
            verdict = PlaneVerdict.UNKNOWN
        how = freed
        if whole.corrected and whole.missing:
            how += f"{names_of(whole.missing)} added as nominal ± {whole.uncertainty_g[index]:.2f} g, "
        words = f"{plane.name} {amount.amount_g:.2f} g at {amount.angle_deg:.1f}°, {how}limit {limit:.2f} g: "
        if not whole.final:
            words += f"no verdict, {no_verdict_words(whole.missing)}"
        else:
            words += "cut since, spin again" if stale else verdict.value
        lines.append(PlaneLine(plane.name, amount.amount_g, amount.angle_deg, limit, limit_words, verdict, words))
    return tuple(lines)

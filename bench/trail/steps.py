"""Where a job stands, judged simply from its events; what is computed of it may judge more finely."""

from __future__ import annotations

from bench.models.job import cells_in_order
from bench.models.job_state import JobState
from bench.models.rotor_set import missing_parts, rotors_to_come
from bench.models.tooling import rotors_own


def step_of(state: JobState) -> str:
    """Return the step a job's list line tells.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        "weigh", "bobweights", "spin", "sign-off" or "done". A record has no job before its intake is over.
    """
    if state.signed_off is not None:
        return "done"
    cells = cells_in_order(state.spec)
    if any(cell not in state.weighed for cell in cells):
        return "weigh"
    if cells and any(throw.number not in state.bobweights for throw in state.spec.layout.throws):
        return "bobweights"
    return "sign-off" if _last_run_is_inside(state) else "spin"


def _last_run_is_inside(state: JobState) -> bool:
    if not state.spins:
        return False
    last = state.spins[-1]
    newest_cut = state.cuts[-1].entry.seq if state.cuts else 0
    limit = state.spec.tolerance.shop_limit_g
    shown = {plane.plane for plane in last.planes}
    return (
        newest_cut < last.entry.seq
        and missing_parts(state.spec, last) == ()
        and not rotors_to_come(state)
        and limit is not None
        and shown >= {plane.name for plane in state.spec.planes}
        and all(plane.amount_g <= limit for plane in rotors_own(state, last))
    )

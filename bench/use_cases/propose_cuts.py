"""The next cuts."""

from __future__ import annotations

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import JobState
from bench.use_cases.view import CutLine, Proposal, Review


def propose_cuts(state: JobState, review: Review) -> Proposal | None:
    """Return the next cuts, None when there is nothing to say yet.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        What is computed of it.

    Returns
    -------
    Proposal or None
        None before the first run and while cuts wait for a run.
    """
    if not state.spins or len(state.cuts) > state.spins[-1].after_cuts:
        return None
    if review.whole_verdict is PlaneVerdict.INSIDE:
        return Proposal(cuts=(), why="Every plane is inside: no more cuts.")
    cuts = tuple(
        CutLine(plane=line.plane, angle_deg=line.angle_deg, grams=0.9 * line.amount_g)
        for line in review.planes
        if line.amount_g is not None and line.angle_deg is not None and line.verdict is not PlaneVerdict.INSIDE
    )
    return Proposal(cuts=cuts, why="Take off most of what is shown, then spin again.")

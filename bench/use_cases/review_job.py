"""Everything a person sees about a job, computed from its state."""

from __future__ import annotations

from bench.computation.unbalance import PlaneVerdict, percent_of_bobweight, whole_verdict
from bench.models.job_state import JobState
from bench.models.on_crank import no_verdict_words
from bench.models.rotor_set import missing_parts, rotors_to_come
from bench.use_cases.due import next_open_cell
from bench.use_cases.review_planes import review_planes
from bench.use_cases.review_sets import review_set, set_warnings
from bench.use_cases.review_throws import review_throw
from bench.use_cases.rotor_lines import set_open
from bench.use_cases.view import Review, Step, ThrowLine


def _step(state: JobState, *, throws: tuple[ThrowLine, ...], verdict: PlaneVerdict) -> Step:
    if state.signed_off is not None:
        return Step.DONE
    if next_open_cell(state) is not None:
        return Step.WEIGH
    if any(not line.within for line in throws) and any(line.target_g is not None for line in throws):
        return Step.BOBWEIGHTS
    done = verdict is PlaneVerdict.INSIDE and not rotors_to_come(state)
    return Step.SIGN_OFF if done else Step.SPIN


def review_job(state: JobState) -> Review:
    """Return what is computed of a job.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    Review
        Sets, bobweights, planes, and the step the work stands at.
    """
    sets = tuple(review_set(state, kind) for kind in state.spec.kinds)
    throws = tuple(review_throw(state, throw) for throw in state.spec.layout.throws)
    planes = review_planes(state)
    verdict = whole_verdict(tuple(line.verdict for line in planes))
    targets = [line.target_g for line in throws if line.target_g is not None]
    mean = sum(targets) / len(targets) if targets else None
    amounts = [line.amount_g for line in planes if line.amount_g is not None]
    percent = (
        percent_of_bobweight(worst_plane_g=max(amounts), bobweight_g=mean)
        if amounts and mean and state.stage is None
        else None
    )
    warnings = list(set_warnings(sets))
    warnings += [
        f"bobweight {line.throw}: made {line.made_g} g, {line.off_g:+.1f} g off; bring it to {line.target_g:.1f} g"
        for line in throws
        if line.made_g is not None and line.off_g is not None and not line.within
    ]
    no_verdict = no_verdict_words(missing_parts(state.spec, state.spins[-1])) if state.spins else ""
    if no_verdict:
        warnings.insert(0, f"run {state.spins[-1].number} is no verdict: {no_verdict}")
    return Review(
        step=_step(state, throws=throws, verdict=verdict),
        next_cell=next_open_cell(state),
        sets=sets,
        throws=throws,
        bobweight_mean_g=mean,
        bobweight_spread_g=max(targets) - min(targets) if targets else None,
        planes=planes,
        whole_verdict=verdict,
        percent_figure=percent,
        warnings=tuple(warnings),
        no_verdict=no_verdict,
        set_open=set_open(state),
    )

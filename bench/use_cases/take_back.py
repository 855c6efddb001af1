"""Take back the last thing of a step; nothing is deleted, a further event says it does not count."""

from __future__ import annotations

from bench.trail.events import CutWithdrawn, Event, SpinWithdrawn, WeightWithdrawn
from bench.trail.spin_events import RotorWithdrawn
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Step


def take_back(scribe: Scribe, *, step: Step, reason: str) -> Event:
    """Withdraw the newest weight, bobweight, run or cut, whichever the step is about.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    step : Step
        The step the person looks at.
    reason : str
        Why.

    Returns
    -------
    Event
        The withdrawal.

    Raises
    ------
    RefusedError
        When there is nothing to take back in this step.
    """
    state = scribe.state
    if state is None:
        raise RefusedError("take back", found="no job is open", do="open a job first")
    if step is Step.WEIGH and state.weighed:
        newest = max(state.weighed.values(), key=lambda w: w.entry.seq)
        return scribe.record([WeightWithdrawn(withdraws=newest.entry.event_id, reason=reason)], how="typed")[0]
    if step is Step.BOBWEIGHTS and state.bobweights:
        made = max(state.bobweights.values(), key=lambda b: b.entry.seq)
        return scribe.record([WeightWithdrawn(withdraws=made.entry.event_id, reason=reason)], how="typed")[0]
    if step in {Step.SPIN, Step.SIGN_OFF} and (state.spins or state.cuts):
        spin_seq = state.spins[-1].entry.seq if state.spins else 0
        if state.cuts and state.cuts[-1].entry.seq > spin_seq:
            cut = CutWithdrawn(withdraws=state.cuts[-1].entry.event_id, reason=reason)
            return scribe.record([cut], how="typed")[0]
        aside = state.index_runs[-1].run if state.index_runs else None
        newest_run = aside if aside is not None and aside.entry.seq > spin_seq else state.spins[-1]
        return scribe.record([SpinWithdrawn(withdraws=newest_run.entry.event_id, reason=reason)], how="typed")[0]
    if step in {Step.SPIN, Step.SIGN_OFF} and state.rotors_done:
        gone = RotorWithdrawn(withdraws=state.rotors_done[-1].entry.event_id, reason=reason)
        return scribe.record([gone], how="typed")[0]
    raise RefusedError(f"take back in {step.value}", found="nothing was taken here yet")

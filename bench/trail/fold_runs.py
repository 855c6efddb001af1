"""The fold of runs that are set aside: with the set turned, with a known mass, taken back."""

from __future__ import annotations

from dataclasses import replace

from bench.models.job_state import AnglesProved, Entry, IndexRun, JobState
from bench.trail.spin_events import AnglesChecked, RunIndexed


def run_indexed(state: JobState, indexed: RunIndexed, entry: Entry) -> JobState:
    """Return the state with a run set aside that was made with the set turned.

    Parameters
    ----------
    state : JobState
        Before.
    indexed : RunIndexed
        Which run.
    entry : Entry
        Who and when.

    Returns
    -------
    JobState
        The run no longer counts as the rotor's own; unchanged when it was taken back meanwhile.
    """
    run = next((spin for spin in state.spins if spin.entry.event_id == indexed.spin), None)
    if run is None:
        return state
    aside = IndexRun(entry=entry, run=run, against=indexed.against, turned_deg=indexed.turned_deg)
    return replace(state, spins=tuple(s for s in state.spins if s is not run), index_runs=(*state.index_runs, aside))


def angles_checked(state: JobState, checked: AnglesChecked, entry: Entry) -> JobState:
    """Return the state with the runs of a check of the machine's angles set aside.

    Parameters
    ----------
    state : JobState
        Before.
    checked : AnglesChecked
        Which runs, and what they say.
    entry : Entry
        Who and when.

    Returns
    -------
    JobState
        The runs with the known mass no longer count as the rotor's own.
    """
    trial = checked.runs[1:]
    proved = AnglesProved(
        entry=entry,
        instrument=checked.instrument,
        plane=checked.plane,
        mass_g=checked.mass_g,
        agrees=checked.agrees,
        words=checked.words,
        trial_runs=tuple(spin for spin in state.spins if spin.entry.event_id in trial),
    )
    return replace(
        state,
        spins=tuple(spin for spin in state.spins if spin.entry.event_id not in trial),
        angles_proved=(*state.angles_proved, proved),
    )


def without_run(state: JobState, gone: str) -> JobState:
    """Return the state without a run that was taken back.

    Parameters
    ----------
    state : JobState
        Before.
    gone : str
        The run's event.

    Returns
    -------
    JobState
        Index runs that were compared with it tell nothing any more and go with it.
    """
    return replace(
        state,
        spins=tuple(spin for spin in state.spins if spin.entry.event_id != gone),
        index_runs=tuple(one for one in state.index_runs if gone not in {one.run.entry.event_id, one.against}),
        withdrawn=state.withdrawn | {gone},
    )

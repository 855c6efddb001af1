"""The fold of what is mounted on the crank, and of the rotors of a set that are balanced one after the other."""

from __future__ import annotations

from dataclasses import replace

from bench.models.job_state import Entry, JobState, RotorDone
from bench.models.rotor_set import spec_for, taken_from
from bench.trail.spin_events import PartsMounted, RotorBegun


def parts_mounted(state: JobState, told: PartsMounted) -> JobState:
    """Return the state with what is mounted, from now on or in one run.

    Parameters
    ----------
    state : JobState
        Before.
    told : PartsMounted
        What was said.

    Returns
    -------
    JobState
        A run that was taken back meanwhile changes nothing.
    """
    if told.spin is None:
        return replace(state, mounted=told.mounted)
    spins = tuple(replace(s, mounted=told.mounted) if s.entry.event_id == told.spin else s for s in state.spins)
    return replace(state, spins=spins)


def rotor_begun(state: JobState, begun: RotorBegun, entry: Entry) -> JobState:
    """Return the state with the present rotor frozen and the next one begun.

    Parameters
    ----------
    state : JobState
        Before.
    begun : RotorBegun
        The next rotor.
    entry : Entry
        Who and when.

    Returns
    -------
    JobState
        Without runs, cuts and stations; those before are frozen.
    """
    done = RotorDone(
        entry=entry,
        stage=state.stage,
        spec=state.spec,
        spins=state.spins,
        index_runs=state.index_runs,
        cuts=state.cuts,
        stations=state.stations,
        mounted=state.mounted,
        inside=begun.inside,
        words=begun.words,
    )
    return replace(
        state,
        spec=spec_for(state, begun.rotor),
        stage=begun.rotor,
        spins=(),
        index_runs=(),
        cuts=(),
        stations=None,
        mounted=state.mounted if begun.rotor.on == "crank" else None,
        rotors_done=(*state.rotors_done, done),
    )


def rotor_withdrawn(state: JobState, gone: str) -> JobState:
    """Return the state in which the rotor before goes on.

    Parameters
    ----------
    state : JobState
        Before.
    gone : str
        The event that began the present rotor.

    Returns
    -------
    JobState
        Unchanged when that is not the newest rotor, or something was spun or cut for it.
    """
    if not state.rotors_done or state.rotors_done[-1].entry.event_id != gone or state.spins or state.cuts:
        return state
    back = state.rotors_done[-1]
    return replace(
        state,
        spec=taken_from(back.spec, state.spec),
        stage=back.stage,
        spins=back.spins,
        index_runs=back.index_runs,
        cuts=back.cuts,
        stations=back.stations,
        mounted=back.mounted,
        rotors_done=state.rotors_done[:-1],
        withdrawn=state.withdrawn | {gone},
    )

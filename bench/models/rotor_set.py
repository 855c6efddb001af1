"""Rotors of a set that are balanced one after the other, and the parts that belong on a crank while it spins."""

from __future__ import annotations

from dataclasses import replace

from bench.models.job import JobSpec, MountedPart, Stage
from bench.models.job_state import JobState, RotorDone, Spin


def rotor_name(state: JobState) -> str:
    """Return what the rotor is called that is balanced now.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        The part's name; "crank assembly", or "rotor" where there are no throws, for the job's first.
    """
    return name_of(state.stage, state.spec)


def name_of(stage: Stage | None, spec: JobSpec) -> str:
    """Return what a rotor of the set is called.

    Parameters
    ----------
    stage : Stage | None
        None for the job's first.
    spec : JobSpec
        The job.

    Returns
    -------
    str
        In a word or two.
    """
    if stage is not None:
        return stage.name
    return "crank assembly" if spec.layout.throws else "rotor"


def rotors_to_come(state: JobState) -> tuple[Stage, ...]:
    """Return the rotors of the set that were planned and are not begun.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[Stage, ...]
        In their order.
    """
    begun = {one.stage.name for one in state.rotors_done if one.stage is not None}
    begun |= {state.stage.name} if state.stage is not None else set()
    return tuple(stage for stage in state.spec.stages if stage.name not in begun)


def spec_for(state: JobState, stage: Stage) -> JobSpec:
    """Return the job with the planes, tolerance and parts of the rotor that comes next.

    Parameters
    ----------
    state : JobState
        Before it is begun.
    stage : Stage
        The next rotor.

    Returns
    -------
    JobSpec
        On an arbor with its own planes; on the crank with the crank's, and metal goes from the part alone.
    """
    own: dict[str, object] = {
        "tolerance": stage.tolerance,
        "rotor_mass_kg": stage.rotor_mass_kg,
        "speed_rpm": stage.speed_rpm or state.spec.speed_rpm,
    }
    if stage.on == "arbor":
        own |= {"planes": stage.planes, "balance": "internal", "mounted": (), "cut_at": ()}
    else:
        crank = crank_spec(state)
        own |= {
            "planes": crank.planes,
            "balance": crank.balance,
            "mounted": crank.mounted,
            "cut_at": stage.planes,
            "rotor_mass_kg": stage.rotor_mass_kg or crank.rotor_mass_kg,
        }
    return state.spec.model_copy(update=own)


def crank_spec(state: JobState) -> JobSpec:
    """Return the job as it was when the crank was last on the machine.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    JobSpec
        That of the rotor now, of the newest before it that was on the crank, or of the first.
    """
    return crank_state(state).spec


def crank_state(state: JobState) -> JobState:
    """Return the job as it stood, or stands, with the crank on the machine.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    JobState
        Itself, unless a part of the set is on an arbor now.
    """
    if state.stage is None or state.stage.on == "crank":
        return state
    on_crank = [one for one in state.rotors_done if one.stage is None or one.stage.on == "crank"]
    return as_it_stood(state, on_crank[-1])


def first_spec(state: JobState) -> JobSpec:
    """Return what intake asked, with what was put right since, for the job's first rotor.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    JobSpec
        The present one where there is one rotor only.
    """
    return state.spec if not state.rotors_done else taken_from(state.rotors_done[0].spec, state.spec)


def taken_from(rotor: JobSpec, words: JobSpec) -> JobSpec:
    """Return the job with what belongs to a rotor from one, and all the rest from another.

    Parameters
    ----------
    rotor : JobSpec
        Whose planes, tolerance, mass, speed and parts count.
    words : JobSpec
        Whose title, customer, kinds and all the rest count.

    Returns
    -------
    JobSpec
        Both in one.
    """
    own = ("planes", "tolerance", "rotor_mass_kg", "speed_rpm", "balance", "mounted", "cut_at")
    return words.model_copy(update={name: getattr(rotor, name) for name in own})


def as_it_stood(state: JobState, done: RotorDone) -> JobState:
    """Return the job as if the frozen rotor were still the one that is balanced.

    Parameters
    ----------
    state : JobState
        The job.
    done : RotorDone
        One of its frozen rotors.

    Returns
    -------
    JobState
        For everything that computes from runs and cuts.
    """
    return replace(
        state,
        spec=taken_from(done.spec, state.spec),
        spins=done.spins,
        index_runs=done.index_runs,
        cuts=done.cuts,
        stations=done.stations,
        stage=done.stage,
        mounted=done.mounted,
        rotors_done=state.rotors_done[: state.rotors_done.index(done)],
    )


def missing_parts(spec: JobSpec, spin: Spin) -> tuple[MountedPart, ...] | None:
    """Return which parts that belong on the crank were not on it.

    Parameters
    ----------
    spec : JobSpec
        Names the parts.
    spin : Spin
        A run.

    Returns
    -------
    tuple[MountedPart, ...] | None
        Empty when all were on it, or none belongs on it; None where nobody said what was mounted.
    """
    if not spec.mounted:
        return ()
    if spin.mounted is None:
        return None
    return tuple(part for part in spec.mounted if part.name not in spin.mounted)

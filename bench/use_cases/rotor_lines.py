"""Every rotor of a set as it stands, and what the whole set adds up to on the crank."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from bench.computation.carried import Carried, carried_in_planes
from bench.computation.unbalance import PlaneVerdict, whole_verdict
from bench.models.job import JobSpec, Stage
from bench.models.job_state import JobState
from bench.models.on_crank import with_all
from bench.models.rotor_set import as_it_stood, crank_spec, crank_state, name_of, rotor_name, rotors_to_come
from bench.use_cases.review_planes import review_planes
from bench.use_cases.view import PlaneLine

PARTS_UNSAID = "it is balanced externally, and nobody said which parts belong on the crank (key -)"


@dataclass(frozen=True, slots=True)
class RotorLine:
    """One rotor of a set.

    Attributes
    ----------
    name : str
        What it is called.
    where : str
        How it was spun: "by itself", "on an arbor", "on the balanced crank"; "to come" where it is not begun.
    planes : tuple[PlaneLine, ...]
        As its last run shows it; empty where it is not begun.
    verdict : PlaneVerdict
        Of all its planes.
    runs, cuts : int
        How many.
    removed_g : float
        Metal taken off in all, heavy metal put in counted less. [g]
    frozen : bool
        The next one was begun.
    words : str
        Why it was left when it was not inside.
    """

    name: str
    where: str
    planes: tuple[PlaneLine, ...] = ()
    verdict: PlaneVerdict = PlaneVerdict.UNKNOWN
    runs: int = 0
    cuts: int = 0
    removed_g: float = 0.0
    frozen: bool = False
    words: str = ""


@dataclass(frozen=True, slots=True)
class SetTotal:
    """What the rotors of a set add up to in one of the crank's planes.

    Attributes
    ----------
    plane : str
        Which plane.
    amount_g, angle_deg : float
        When every part is fitted mark to mark. [g], [deg]
    at_worst_g : float
        However the parts are turned when they are fitted. [g]
    """

    plane: str
    amount_g: float
    angle_deg: float
    at_worst_g: float


def rotor_lines(state: JobState) -> tuple[RotorLine, ...]:
    """Return every rotor of the set, in their order.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[RotorLine, ...]
        Empty where the job is one rotor.
    """
    to_come = rotors_to_come(state)
    if not state.rotors_done and not to_come:
        return ()
    lines = [_line(as_it_stood(state, done), frozen=True, words=done.words) for done in state.rotors_done]
    lines.append(_line(state, frozen=False))
    return (*lines, *(RotorLine(stage.name, f"to come, {_where(stage)}") for stage in to_come))


def _where(stage: Stage | None) -> str:
    if stage is None:
        return "by itself"
    return "on an arbor" if stage.on == "arbor" else "on the balanced crank"


def _line(state: JobState, *, frozen: bool, words: str = "") -> RotorLine:
    planes = review_planes(state)
    return RotorLine(
        name=rotor_name(state),
        where=_where(state.stage),
        planes=planes,
        verdict=whole_verdict(tuple(line.verdict for line in planes)),
        runs=len(state.spins),
        cuts=len(state.cuts),
        removed_g=sum(cut.grams for cut in state.cuts),
        frozen=frozen,
        words=words,
    )


def set_open(state: JobState) -> tuple[str, ...]:
    """Return what keeps a job from being done beside the rotor that is balanced now.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[str, ...]
        In words: rotors of the set, and an externally balanced crank of which nobody said what belongs on it. What was
        signed off as inside stays so.
    """
    done = state.signed_off is not None and state.signed_off.within_tolerance
    crank = crank_state(state).spec
    unsaid = crank.balance == "external" and not crank.mounted and not done
    return (*rotors_open(state), *((PARTS_UNSAID,) if unsaid else ()))


def rotors_open(state: JobState) -> tuple[str, ...]:
    """Return what of a set keeps it from being done beside the rotor that is balanced now.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[str, ...]
        In words; empty where the job is one rotor.
    """
    left = [f"{name_of(d.stage, d.spec)} was left outside its tolerance" for d in state.rotors_done if not d.inside]
    return (*left, *(f"{stage.name} is still to be balanced" for stage in rotors_to_come(state)))


def set_total(state: JobState) -> tuple[SetTotal, ...]:
    """Return what the set adds up to in the crank's planes.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[SetTotal, ...]
        One a plane of the crank: its newest run on the machine, and the rotors balanced on an arbor since then, carried
        over by statics. Empty where the job is one rotor, or one of them has no run.
    """
    if not state.rotors_done:
        return ()
    stood = [*(as_it_stood(state, done) for done in state.rotors_done), state]
    on_crank = max(i for i, one in enumerate(stood) if one.stage is None or one.stage.on == "crank")
    counted = stood[on_crank:]
    if not all(one.spins and len(one.cuts) == one.spins[-1].after_cuts for one in counted):
        return ()
    crank = crank_spec(state)
    on_machine = _residuals(counted[0], crank)
    left = [part for one in counted[1:] for part in _residuals(one, one.spec)]
    carried = carried_in_planes(
        [*on_machine, *left],
        positions_mm=[plane.position_mm for plane in crank.planes],
        radii_mm=[plane.radius_mm for plane in crank.planes],
    )
    worst = carried_in_planes(
        left,
        positions_mm=[plane.position_mm for plane in crank.planes],
        radii_mm=[plane.radius_mm for plane in crank.planes],
    )
    base = {amount.plane: amount.amount_g for amount in with_all(counted[0], counted[0].spins[-1]).planes}
    return tuple(
        SetTotal(
            plane.name,
            abs(whole.excess_g),
            math.degrees(cmath.phase(whole.excess_g)) % 360.0,
            base[plane.name] + turned.at_worst_g,
        )
        for plane, whole, turned in zip(crank.planes, carried, worst, strict=True)
    )


def _residuals(state: JobState, spec: JobSpec) -> list[Carried]:
    shown = {amount.plane: amount for amount in with_all(state, state.spins[-1]).planes}
    return [
        Carried(shown[p.name].amount_g * p.radius_mm, shown[p.name].angle_deg, p.position_mm)
        for p in spec.planes
        if p.name in shown
    ]

"""A finished job with new parts: a job of its own, the old numbers as reference, and how far out the crank would be."""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType

from bench.computation.errors import QuantityError
from bench.computation.rebuild import RebuiltThrow, rebuilt_crank
from bench.computation.vectors import Vector, sum_of
from bench.models.job import Cell, Throw, label_of
from bench.models.job_state import JobState
from bench.models.rotor_set import crank_state, first_spec
from bench.trail.contract import Trail
from bench.trail.events import JobOpened, RebuildBegun
from bench.trail.fold import fold
from bench.use_cases.errors import RefusedError
from bench.use_cases.open_job import next_number
from bench.use_cases.review_throws import review_throw
from bench.use_cases.scribe import Scribe


@dataclass(frozen=True, slots=True)
class RebuiltBobweight:
    """One throw's bobweight then and now.

    Attributes
    ----------
    then_g : float | None
        As made in the old job, or its target where none was made. [g]
    now_g : float | None
        Of the parts weighed now; parts not weighed yet count as they were. [g]
    as_they_were : tuple[str, ...]
        Cells that count with the old job's weight.
    """

    throw: int
    then_g: float | None
    now_g: float | None
    as_they_were: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RebuiltPlane:
    """How far out one plane would be if the crank were left as it is.

    Attributes
    ----------
    amount_g, angle_deg : float
        From the new parts alone: where the excess is, at the correction radius. [g], [deg]
    left_g, left_deg : float | None
        What the old job's last run left in this plane. [g], [deg]
    whole_g, whole_deg : float | None
        Both together. [g], [deg]
    """

    plane: str
    amount_g: float
    angle_deg: float
    left_g: float | None = None
    left_deg: float | None = None
    whole_g: float | None = None
    whole_deg: float | None = None


@dataclass(frozen=True, slots=True)
class Rebuild:
    """A rebuild looked at.

    Attributes
    ----------
    planes : tuple[RebuiltPlane, ...]
        Empty while something is missing.
    missing : tuple[str, ...]
        Why it cannot be computed yet, in words.
    """

    of_number: str
    bobweights: tuple[RebuiltBobweight, ...]
    planes: tuple[RebuiltPlane, ...]
    missing: tuple[str, ...]


def reopen_as_new(
    scribe: Scribe, number: str, *, year: int, crank_radius_mm: float | None = None, title: str = ""
) -> JobState:
    """Open a new job for a crank that was here before.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    number : str
        The old job.
    year : int
        For the new number.
    crank_radius_mm : float | None
        Half the stroke; without it only the bobweights can be compared. [mm]
    title : str
        What the new job is called; the old title when empty.

    Returns
    -------
    JobState
        The new job, now open.

    Raises
    ------
    RefusedError
        When the old job is not there, or the radius cannot be.
    """
    old = scribe.choose(number)
    if crank_radius_mm is not None and not 0 < crank_radius_mm < 2000:
        raise RefusedError(
            f"rebuild of job {number}", found=f"{crank_radius_mm:g} mm", wanted="half the stroke in mm, above 0"
        )
    spec = first_spec(old).model_copy(update={"title": title[:40]} if title else {})
    new = next_number(scribe.trail, year=year)
    begun = RebuildBegun(of_number=number, of_seq=old.last_seq, crank_radius_mm=crank_radius_mm)
    scribe.record([JobOpened(number=new, spec=spec), begun], how="typed", job=new)
    return scribe.choose(new)


def look_at_rebuild(trail: Trail, state: JobState) -> Rebuild | None:
    """Return what a job's new parts do to the crank.

    Parameters
    ----------
    trail : Trail
        For the old job.
    state : JobState
        The job.

    Returns
    -------
    Rebuild or None
        None when it is no rebuild.
    """
    if state.rebuild_of is None:
        return None
    until = state.rebuild_of.last_seq
    kept = [event for event in trail.events(job=state.rebuild_of.number) if event.seq <= until]
    if not kept:
        return Rebuild(state.rebuild_of.number, (), (), (f"job {state.rebuild_of.number} is not in this record",))
    return compared(crank_state(fold(kept)), crank_state(state), crank_radius_mm=state.rebuild_of.crank_radius_mm)


def compared(old: JobState, new: JobState, *, crank_radius_mm: float | None) -> Rebuild:
    """Return what new parts do to a crank that was balanced with old ones.

    Parameters
    ----------
    old : JobState
        The job the crank was balanced in.
    new : JobState
        The job with the new parts, of the same layout.
    crank_radius_mm : float | None
        Half the stroke. [mm]

    Returns
    -------
    Rebuild
        Bobweights then and now; the planes as soon as nothing is missing.
    """
    bobweights = tuple(_bobweight(old, new, throw) for throw in new.spec.layout.throws)
    missing: list[str] = []
    if not bobweights:
        missing.append("this rotor has no throws")
    missing += [f"bobweight {one.throw} of the old job" for one in bobweights if one.then_g is None]
    missing += [f"parts of throw {one.throw}" for one in bobweights if one.now_g is None]
    if crank_radius_mm is None:
        missing.append("half the stroke: give --crank-radius")
    if missing or crank_radius_mm is None:
        return Rebuild(old.number, bobweights, (), tuple(missing))
    throws = [
        RebuiltThrow(
            pin_deg=throw.pin_deg,
            position_mm=throw.position_mm,
            old_bobweight_g=one.then_g or 0.0,
            new_bobweight_g=one.now_g or 0.0,
        )
        for throw, one in zip(new.spec.layout.throws, bobweights, strict=True)
    ]
    planes = new.spec.planes
    try:
        crank = rebuilt_crank(
            throws,
            crank_radius_mm=crank_radius_mm,
            plane_positions_mm=[plane.position_mm for plane in planes],
            plane_radii_mm=[plane.radius_mm for plane in planes],
        )
    except QuantityError as fault:
        return Rebuild(old.number, bobweights, (), (str(fault),))
    out = tuple(_plane(old, plane.name, vector) for plane, vector in zip(planes, crank.out_g, strict=True))
    return Rebuild(old.number, bobweights, out, ())


def _bobweight(old: JobState, new: JobState, throw: Throw) -> RebuiltBobweight:
    made = old.bobweights.get(throw.number)
    then = float(made.grams) if made is not None else review_throw(old, throw).target_g
    cells = [
        Cell(kind=kind.name, place=place)
        for kind in new.spec.kinds
        for place in (throw.cylinders if kind.per == "cylinder" else (throw.number,))
    ]
    kept = tuple(cell for cell in cells if cell not in new.weighed and cell in old.weighed)
    weighed = MappingProxyType({**{cell: old.weighed[cell] for cell in kept}, **new.weighed})
    now = review_throw(replace(new, weighed=weighed), throw).target_g
    return RebuiltBobweight(throw.number, then, now, tuple(label_of(new.spec, cell) for cell in kept))


def _plane(old: JobState, name: str, parts: Vector) -> RebuiltPlane:
    last = old.spins[-1].planes if old.spins else ()
    left = next((plane for plane in last if plane.plane == name), None)
    if left is None:
        return RebuiltPlane(name, parts.amount, parts.angle_deg)
    whole = sum_of((parts, Vector(left.amount_g, left.angle_deg)))
    return RebuiltPlane(
        name,
        parts.amount,
        parts.angle_deg,
        left_g=left.amount_g,
        left_deg=left.angle_deg,
        whole_g=whole.amount,
        whole_deg=whole.angle_deg,
    )

"""The fold: a job's events, oldest first, become its present state."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType

from bench.models.job import Cell
from bench.models.job_state import (
    Amendment,
    BobweightMade,
    CertificateWritten,
    Cut,
    Entry,
    HandedOver,
    JobState,
    PlaneAmount,
    RebuildOf,
    ScaleCheck,
    SignedOff,
    Spin,
    TakenOver,
    Weighed,
)
from bench.trail.events import (
    BobweightBuilt,
    CellSkipped,
    CertificateIssued,
    CutMade,
    CutWithdrawn,
    Event,
    JobAmended,
    JobHandedOver,
    JobOpened,
    JobReopened,
    JobSignedOff,
    JobTakenOver,
    NoteWritten,
    RebuildBegun,
    RouteChosen,
    ScaleChecked,
    SpinRun,
    SpinWithdrawn,
    StationsEntered,
    TemperatureNoted,
    WeightTaken,
    WeightWithdrawn,
)
from bench.trail.fold_rotors import parts_mounted, rotor_begun, rotor_withdrawn
from bench.trail.fold_runs import angles_checked, run_indexed, without_run
from bench.trail.spin_events import AnglesChecked, PartsMounted, RotorBegun, RotorWithdrawn, RunIndexed


class FoldError(ValueError):
    """The events are not those of one job, in order, from its opening."""


def fold(events: Iterable[Event]) -> JobState:
    """Return the state that a job's events lead to.

    Parameters
    ----------
    events : Iterable[Event]
        All events of one job, oldest first.

    Returns
    -------
    JobState
        As it stands after the last.

    Raises
    ------
    FoldError
        When there is no event, or the first does not open a job.
    """
    state: JobState | None = None
    last_seq = 0
    for event in events:
        if state is None:
            if not isinstance(event.payload, JobOpened):
                raise FoldError(f"event {event.seq} is {event.payload.kind}; wanted job-opened first")
            state = JobState(
                number=event.payload.number, spec=event.payload.spec, opened=_entry(event), last_seq=event.seq
            )
        else:
            state = _changed(state, event)
        last_seq = event.seq
    if state is None:
        raise FoldError("no event; wanted at least job-opened")
    return replace(state, last_seq=last_seq)


def _entry(event: Event) -> Entry:
    return Entry(event_id=event.id, seq=event.seq, by=event.by, how=event.how, utc=event.utc)


def apply(state: JobState, event: Event) -> JobState:
    """Return the state after one more event.

    Parameters
    ----------
    state : JobState
        Before.
    event : Event
        The next event of the same job.

    Returns
    -------
    JobState
        After; an event that changes nothing a person sees only moves `last_seq`.
    """
    return replace(_changed(state, event), last_seq=event.seq)


def _changed(state: JobState, event: Event) -> JobState:  # noqa: PLR0911 one kind a line
    entry = _entry(event)
    match event.payload:
        case WeightTaken() as taken:
            return _weigh(state, taken, entry)
        case WeightWithdrawn(withdraws=gone):
            return _withdraw_weight(state, gone)
        case BobweightBuilt() as built:
            return _build(state, built, entry)
        case CellSkipped(cell=cell, skipped=skipped):
            return replace(state, skipped=state.skipped | {cell} if skipped else state.skipped - {cell})
        case SpinRun() as run:
            return replace(state, spins=(*state.spins, _spin(state, run, entry)))
        case CutMade() as cut:
            return _make_cut(state, cut, entry)
        case SpinWithdrawn(withdraws=gone):
            return without_run(state, gone)
        case CutWithdrawn(withdraws=gone):
            return _withdraw_cut(state, gone)
        case _:
            return _set_aside(state, event, entry)


def _set_aside(state: JobState, event: Event, entry: Entry) -> JobState:  # noqa: PLR0911 one kind a line
    match event.payload:
        case ScaleChecked() as check:
            checked = ScaleCheck(
                entry=entry,
                nominal_g=check.nominal_g,
                shown_g=check.shown_g,
                allowed_g=check.allowed_g,
                passed=check.passed,
            )
            return replace(state, scale_checks=(*state.scale_checks, checked))
        case NoteWritten(text=text):
            return replace(state, notes=(*state.notes, (entry, text)))
        case JobSignedOff() as off:
            signed = SignedOff(
                entry=entry,
                deburred=off.deburred,
                cleaned=off.cleaned,
                within_tolerance=off.within_tolerance,
                words=off.words,
            )
            return replace(state, signed_off=signed)
        case JobReopened():
            return replace(state, signed_off=None)
        case CertificateIssued() as issued:
            written = CertificateWritten(
                entry=entry,
                file_name=issued.file_name,
                sha256=issued.sha256,
                length=issued.length,
                head=issued.head,
            )
            return replace(state, certificates=(*state.certificates, written))
        case StationsEntered(stations=stations):
            return replace(state, stations=stations)
        case JobAmended() as amended:
            change = Amendment(entry=entry, changed=amended.changed, reason=amended.reason)
            return replace(state, spec=amended.spec, amendments=(*state.amendments, change))
        case RebuildBegun() as begun:
            old = RebuildOf(
                entry=entry, number=begun.of_number, last_seq=begun.of_seq, crank_radius_mm=begun.crank_radius_mm
            )
            return replace(state, rebuild_of=old)
        case _:
            return _moved(state, event, entry)


def _moved(state: JobState, event: Event, entry: Entry) -> JobState:  # noqa: PLR0911 one kind a line
    match event.payload:
        case JobHandedOver() as handed:
            return replace(state, handed_over=HandedOver(entry=entry, to_bench=handed.to_bench, reason=handed.reason))
        case JobTakenOver() as taken:
            where = TakenOver(
                entry=entry, from_bench=taken.from_bench, number=taken.number, gone=taken.gone, reason=taken.reason
            )
            return replace(state, taken_over=where)
        case RouteChosen(route=route):
            return replace(state, route=route)
        case RunIndexed() as indexed:
            return run_indexed(state, indexed, entry)
        case AnglesChecked() as checked:
            return angles_checked(state, checked, entry)
        case PartsMounted() as told:
            return parts_mounted(state, told)
        case RotorBegun() as begun:
            return rotor_begun(state, begun, entry)
        case RotorWithdrawn(withdraws=gone):
            return rotor_withdrawn(state, gone)
        case TemperatureNoted(celsius=celsius):
            return replace(state, temperatures=(*state.temperatures, (entry, celsius)))
        case _:
            return state


def _weigh(state: JobState, taken: WeightTaken, entry: Entry) -> JobState:
    before = state.weighed.get(taken.cell)
    refines = bool(taken.supersedes) and not taken.reason
    if refines and taken.supersedes in state.withdrawn:
        # the better value of a laying that was taken back while the part still lay there
        return replace(state, withdrawn=state.withdrawn | {entry.event_id})
    same_laying = refines and before is not None and taken.supersedes in before.laying
    laying = (*before.laying, entry.event_id) if same_laying and before is not None else (entry.event_id,)
    weighed = Weighed(
        entry=entry,
        grams=taken.grams,
        shown=taken.shown,
        unit=taken.unit,
        standard_uncertainty_g=taken.standard_uncertainty_g,
        doubtful=taken.doubtful,
        reason=before.reason if same_laying and before is not None else taken.reason,
        earlier=_values_before(before.before if same_laying and before is not None else before),
        laying=laying,
        before=before.before if same_laying and before is not None else before,
    )
    return replace(
        state,
        weighed=MappingProxyType({**state.weighed, taken.cell: weighed}),
        skipped=state.skipped - {taken.cell},
    )


def _values_before(before: Weighed | None) -> tuple[Decimal, ...]:
    return () if before is None else (*before.earlier, before.grams)


def _without(weighed: Weighed, gone: str) -> Weighed | None:
    """Take a laying out of a cell's history, wherever it stands in it."""
    newer: list[Weighed] = []
    one: Weighed | None = weighed
    while one is not None and gone not in one.laying:
        newer.append(one)
        one = one.before
    if one is None:
        return weighed
    left = one.before
    for above in reversed(newer):
        left = replace(above, before=left, earlier=_values_before(left))
    return left


def _withdraw_weight(state: JobState, gone: str) -> JobState:
    kept: dict[Cell, Weighed] = {}
    for cell, weighed in state.weighed.items():
        left = _without(weighed, gone)
        if left is not None:
            kept[cell] = left
    bobweights = {throw: made for throw, made in state.bobweights.items() if made.entry.event_id != gone}
    return replace(
        state,
        weighed=MappingProxyType(kept),
        bobweights=MappingProxyType(bobweights),
        withdrawn=state.withdrawn | {gone},
    )


def _build(state: JobState, built: BobweightBuilt, entry: Entry) -> JobState:
    if built.supersedes in state.withdrawn:
        return replace(state, withdrawn=state.withdrawn | {entry.event_id})
    made = BobweightMade(
        entry=entry,
        throw=built.throw,
        grams=built.grams,
        target_g=built.target_g,
        standard_uncertainty_g=built.standard_uncertainty_g,
    )
    return replace(state, bobweights=MappingProxyType({**state.bobweights, built.throw: made}))


def _make_cut(state: JobState, cut: CutMade, entry: Entry) -> JobState:
    if cut.supersedes is None:
        return replace(state, cuts=(*state.cuts, _cut(cut, entry)))
    # a cut that is put right keeps its place before the run that answered it
    right = tuple(_cut(cut, old.entry) if old.entry.event_id == cut.supersedes else old for old in state.cuts)
    return replace(state, cuts=right)


def _withdraw_cut(state: JobState, gone: str) -> JobState:
    cuts = tuple(cut for cut in state.cuts if cut.entry.event_id != gone)
    spins = tuple(replace(spin, after_cuts=sum(cut.entry.seq < spin.entry.seq for cut in cuts)) for spin in state.spins)
    return replace(state, cuts=cuts, spins=spins, withdrawn=state.withdrawn | {gone})


def _spin(state: JobState, run: SpinRun, entry: Entry) -> Spin:
    order = {plane.name: index for index, plane in enumerate(state.spec.planes)}
    shown = sorted(run.planes, key=lambda p: order.get(p.plane, len(order)))
    return Spin(
        entry=entry,
        number=run.number,
        planes=tuple(PlaneAmount(plane=p.plane, amount_g=p.amount_g, angle_deg=p.heavy_angle_deg) for p in shown),
        label=run.label,
        speed_rpm=run.speed_rpm,
        source_sha256=run.source_sha256,
        after_cuts=len(state.cuts),
        mounted=state.mounted if state.spec.mounted else None,
    )


def _cut(cut: CutMade, entry: Entry) -> Cut:
    return Cut(
        entry=entry,
        plane=cut.plane,
        angle_deg=cut.angle_deg,
        grams=cut.grams,
        station=cut.station,
        diameter_mm=cut.diameter_mm,
        depth_mm=cut.depth_mm,
        chips_g=cut.chips_g,
    )

"""The fold: what counts after weighing again, refining, taking back, cutting and signing off."""

from __future__ import annotations

from decimal import Decimal

import pytest
from trail_pieces import SetClock, draft, opening, run, weight

from bench.models.job import Cell
from bench.models.job_state import JobState
from bench.trail import events as e
from bench.trail.events import Draft
from bench.trail.fold import FoldError, apply, fold
from bench.trail.memory import MemoryTrail

PISTON = Cell(kind="piston", place=1)


def state_of(*drafts: Draft) -> JobState:
    trail = MemoryTrail(bench="south", clock=SetClock())
    trail.append([opening(), *drafts])
    return fold(trail.events(job="2031-0001"))


def values(state: JobState) -> tuple[str, tuple[str, ...]] | None:
    weighed = state.weighed.get(PISTON)
    return None if weighed is None else (str(weighed.grams), tuple(str(value) for value in weighed.earlier))


def gone(one: Draft) -> Draft:
    return draft(e.WeightWithdrawn(withdraws=one.id, reason="wrong part"))


def refined(grams: str, first: Draft) -> Draft:
    return weight(grams, supersedes=first.id)


def again(grams: str, first: Draft) -> Draft:
    return weight(grams, supersedes=first.id, reason="weighed again")


def test_a_weight_and_its_refinement_are_one_laying() -> None:
    first = weight("412.3")
    better = refined("412.25", first)
    best = refined("412.26", better)
    state = state_of(first, better, best)
    assert values(state) == ("412.26", ())
    assert state.weighed[PISTON].laying == (first.id, better.id, best.id)
    assert values(state_of(first, better, refined("412.27", first))) == ("412.27", ())


def test_weighing_again_keeps_the_older_value() -> None:
    first = weight("412.3")
    better = refined("412.2", first)
    second = again("409.9", better)
    state = state_of(first, better, second, refined("409.8", second))
    assert values(state) == ("409.8", ("412.2",))
    assert state.weighed[PISTON].reason == "weighed again"
    # without a word about what it replaces, nothing is lost either
    assert values(state_of(first, weight("410.0"), weight("409.0"))) == ("409.0", ("412.3", "410.0"))


@pytest.mark.parametrize("which", [0, 1, 2])
def test_taking_back_takes_the_whole_laying_whichever_of_its_events_is_named(which: int) -> None:
    first = weight("412.3")
    better = refined("412.2", first)
    best = refined("412.1", better)
    named = (first, better, best)[which]
    state = state_of(first, better, best, gone(named))
    assert values(state) is None
    assert named.id in state.withdrawn


def test_taking_back_a_second_weighing_brings_back_the_first() -> None:
    first = weight("412.3")
    second = again("409.9", first)
    third = again("409.0", second)
    assert values(state_of(first, second, gone(second))) == ("412.3", ())
    assert values(state_of(first, second, third, gone(third))) == ("409.9", ("412.3",))
    assert values(state_of(first, second, third, gone(second))) == ("409.0", ("412.3",))
    assert values(state_of(first, second, third, gone(first))) == ("409.0", ("409.9",))
    assert values(state_of(first, second, third, gone(third), gone(second), gone(first))) is None


def test_one_cell_weighed_three_thousand_times() -> None:
    first = weight("412.3")
    state = state_of(first, *(weight("400.0") for _ in range(3000)), gone(first))
    weighed = state.weighed[PISTON]
    assert len(weighed.earlier) == 2999
    assert {str(value) for value in weighed.earlier} == {"400.0"}


def test_the_better_value_of_a_laying_that_was_taken_back_does_not_count() -> None:
    first = weight("412.3")
    better = refined("412.2", first)
    state = state_of(first, gone(first), better)
    assert values(state) is None
    assert state.withdrawn == {first.id, better.id}
    assert values(state_of(first, gone(first), better, refined("412.1", better))) is None
    assert values(state_of(first, gone(first), weight("400.0"))) == ("400.0", ())


def test_taking_back_what_is_not_there_changes_no_value() -> None:
    first = weight("412.3")
    assert values(state_of(first, draft(e.WeightWithdrawn(withdraws="nobody", reason="x")))) == ("412.3", ())


def test_a_cell_is_left_for_later_and_weighed_all_the_same() -> None:
    skipped = draft(e.CellSkipped(cell=PISTON))
    assert state_of(skipped).skipped == {PISTON}
    assert state_of(skipped, draft(e.CellSkipped(cell=PISTON, skipped=False))).skipped == frozenset()
    assert state_of(skipped, weight()).skipped == frozenset()


def bobweight(grams: str, *, supersedes: str | None = None) -> Draft:
    built = e.BobweightBuilt(
        throw=1, shown=Decimal(grams), unit="g", grams=Decimal(grams), target_g=1205.38,
        standard_uncertainty_g=0.1, supersedes=supersedes,
    )  # fmt: skip
    return draft(built)


def test_bobweights() -> None:
    first = bobweight("1205.4")
    second = bobweight("1205.3", supersedes=first.id)
    assert str(state_of(first, second).bobweights[1].grams) == "1205.3"
    assert dict(state_of(first, second, gone(second)).bobweights) == {}
    assert dict(state_of(first, gone(first), second).bobweights) == {}
    assert str(state_of(first, gone(first), bobweight("1200.0")).bobweights[1].grams) == "1200.0"


def cut(grams: float = 4.0) -> Draft:
    return draft(e.CutMade(plane="front", angle_deg=30.0, grams=grams, diameter_mm=10.0, depth_mm=8.0, station="c1"))


def test_runs_and_cuts_taken_back_drop_out() -> None:
    first, second, third = run(1, 9.0, 8.0), run(2, 4.0, 3.0), run(3, 0.5, 0.4)
    made, not_made = cut(), cut(1.0)
    state = state_of(first, made, second, not_made, third)
    assert [(spin.number, spin.after_cuts) for spin in state.spins] == [(1, 0), (2, 1), (3, 2)]
    assert [entry.grams for entry in state.cuts] == [4.0, 1.0]
    taken = draft(e.CutWithdrawn(withdraws=not_made.id, reason="not made"))
    state = state_of(first, made, second, not_made, third, taken)
    assert [(spin.number, spin.after_cuts) for spin in state.spins] == [(1, 0), (2, 1), (3, 1)]
    assert [entry.grams for entry in state.cuts] == [4.0]
    without = draft(e.SpinWithdrawn(withdraws=second.id, reason="coupling loose"))
    state = state_of(first, made, second, third, without)
    assert [spin.number for spin in state.spins] == [1, 3]
    assert second.id in state.withdrawn


def test_the_planes_of_a_run_stand_in_the_jobs_order() -> None:
    state = state_of(run(1, 3.0, 9.0, planes=("rear", "front")))
    assert [(plane.plane, plane.amount_g) for plane in state.spins[0].planes] == [("front", 9.0), ("rear", 3.0)]
    assert state.spins[0].planes[0].angle_deg == 30.0


def test_sign_off_and_coming_back() -> None:
    off = draft(e.JobSignedOff(deburred=True, cleaned=True, within_tolerance=True, words="fine"), by="CD")
    state = state_of(off)
    assert state.signed_off is not None
    assert (state.signed_off.entry.by, state.signed_off.words) == ("CD", "fine")
    assert state_of(off, draft(e.JobReopened(reason="came back"))).signed_off is None


def test_notes_checks_and_certificates_are_kept() -> None:
    check = e.ScaleChecked(nominal_g=Decimal(500), shown_g=Decimal("500.3"), allowed_g=0.2, passed=False)
    issued = e.CertificateIssued(file_name="c.html", sha256="b" * 64, length=2, head="c" * 64)
    state = state_of(draft(check), draft(e.NoteWritten(text="keyway worn")), draft(issued))
    assert [text for _, text in state.notes] == ["keyway worn"]
    assert [(one.passed, str(one.shown_g)) for one in state.scale_checks] == [(False, "500.3")]
    assert [(one.file_name, one.length) for one in state.certificates] == [("c.html", 2)]
    assert state.last_seq == 4


def test_what_changes_nothing_moves_the_place_only() -> None:
    before = state_of(weight())
    after = state_of(
        weight(),
        draft(e.LinkChanged(instrument="scale", state="gone")),
        draft(e.FileAttached(file_name="p.jpg", sha256="d" * 64, size=1)),
    )
    assert (before.last_seq, after.last_seq) == (2, 4)
    assert values(after) == values(before)


def test_events_that_are_no_job() -> None:
    trail = MemoryTrail(bench="south", clock=SetClock())
    (event,) = trail.append([weight()])
    with pytest.raises(FoldError, match="wanted job-opened"):
        fold([event])
    with pytest.raises(FoldError, match="no event"):
        fold([])


def test_one_by_one_is_the_same_as_all_at_once() -> None:
    first = weight("412.3")
    trail = MemoryTrail(bench="south", clock=SetClock())
    events = trail.append([opening(), first, refined("412.2", first), run(1, 4.0, 3.0), cut(), gone(first)])
    state = fold(events[:1])
    for event in events[1:]:
        state = apply(state, event)
    assert state == fold(events)

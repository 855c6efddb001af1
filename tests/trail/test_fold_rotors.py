"""What is mounted, and the rotors of a set, in the fold: what a record says whatever order things were taken back in."""

from __future__ import annotations

from trail_pieces import SOME_FLYWHEEL, SetClock, draft, opening, run

from bench.models.job import CorrectionPlane, MountedPart, Stage, Tolerance
from bench.models.job_state import JobState
from bench.models.rotor_set import missing_parts, rotor_name
from bench.trail import events as e
from bench.trail import spin_events as sp
from bench.trail.events import Draft
from bench.trail.fold import fold
from bench.trail.job_lines import line_of
from bench.trail.memory import MemoryTrail

PARTS = (MountedPart(name="flywheel", position_mm=380.0), MountedPart(name="damper", position_mm=-60.0))
COVER = Stage(
    name="cover",
    on="crank",
    planes=(CorrectionPlane(name="rim", radius_mm=120.0, position_mm=400.0),),
    tolerance=Tolerance(shop_limit_g=2.0),
)


def state_of(*drafts: Draft, **changes: object) -> JobState:
    trail = MemoryTrail(bench="south", clock=SetClock())
    trail.append([opening(kinds=(), **changes), *drafts])
    return fold(trail.events(job="2031-0001"))


def external(*drafts: Draft) -> JobState:
    return state_of(*drafts, balance="external", mounted=PARTS)


def test_each_run_keeps_what_was_mounted_when_it_was_made() -> None:
    first, second, third = run(1, 4.0, 2.0), run(2, 3.0, 2.0), run(3, 0.1, 0.1)
    state = external(
        first,
        draft(sp.PartsMounted(mounted=("damper",))), second,
        draft(sp.PartsMounted(mounted=("flywheel", "damper"))), third,
    )  # fmt: skip
    assert [spin.mounted for spin in state.spins] == [None, ("damper",), ("flywheel", "damper")]
    found = [missing_parts(state.spec, spin) for spin in state.spins]
    assert found[0] is None
    assert [[part.name for part in one or ()] for one in found[1:]] == [["flywheel"], []]
    assert line_of(state, last_utc="").step == "sign-off"


def test_a_run_without_a_part_is_no_end_of_the_spins_in_the_list_of_jobs() -> None:
    state = external(draft(sp.PartsMounted(mounted=("damper",))), run(1, 0.1, 0.1))
    assert line_of(state, last_utc="").step == "spin"


def test_what_was_said_of_a_run_that_was_taken_back_changes_nothing() -> None:
    first, second = run(1, 4.0, 2.0), run(2, 3.0, 2.0)
    state = external(
        first, second,
        draft(e.SpinWithdrawn(withdraws=first.id, reason="loose")),
        draft(sp.PartsMounted(mounted=("flywheel",), spin=first.id)),
    )  # fmt: skip
    assert [(spin.number, spin.mounted) for spin in state.spins] == [(2, None)]
    assert state.mounted is None


def test_a_job_without_parts_says_nothing_of_its_runs() -> None:
    state = state_of(draft(sp.PartsMounted(mounted=())), run(1, 4.0, 2.0))
    assert state.spins[0].mounted is None
    assert missing_parts(state.spec, state.spins[0]) == ()


def test_an_arbor_has_no_parts_of_the_crank_and_the_crank_has_them_again() -> None:
    state = external(
        draft(sp.PartsMounted(mounted=("flywheel", "damper"))), run(1, 0.1, 0.1),
        draft(sp.RotorBegun(rotor=SOME_FLYWHEEL.model_copy(update={"name": "gear"}), inside=True)),
    )  # fmt: skip
    assert (state.spec.mounted, state.spec.balance, state.mounted) == ((), "internal", None)
    assert [plane.name for plane in state.spec.planes] == ["disc"]
    on_crank = external(
        draft(sp.PartsMounted(mounted=("flywheel", "damper"))), run(1, 0.1, 0.1),
        draft(sp.RotorBegun(rotor=SOME_FLYWHEEL.model_copy(update={"name": "gear"}), inside=True)),
        run(2, 0.1, planes=("disc",)),
        draft(sp.RotorBegun(rotor=COVER, inside=True)),
    )  # fmt: skip
    assert (on_crank.spec.mounted, on_crank.spec.balance) == (PARTS, "external")
    assert [plane.name for plane in on_crank.spec.planes] == ["front", "rear"]
    assert [place.name for place in on_crank.spec.cut_planes] == ["rim"]
    assert [len(done.spins) for done in on_crank.rotors_done] == [1, 1]


def test_a_begun_rotor_taken_back_brings_everything_of_the_one_before() -> None:
    cut = draft(e.CutMade(plane="front", angle_deg=30.0, grams=3.0))
    before = [run(1, 4.0, 2.0), cut, run(2, 0.1, 0.1)]
    begun = draft(sp.RotorBegun(rotor=SOME_FLYWHEEL, inside=True))
    back = draft(sp.RotorWithdrawn(withdraws=begun.id, reason="too early"))
    state, plain = state_of(*before, begun, back), state_of(*before)
    assert (rotor_name(state), state.rotors_done) == ("crank assembly", ())
    assert [s.planes for s in state.spins] == [s.planes for s in plain.spins]
    assert [c.grams for c in state.cuts] == [3.0]
    assert state.spec == plain.spec
    # another rotor's beginning, or one with a run, is not taken back by it
    wrong = draft(sp.RotorWithdrawn(withdraws="another", reason="x"))
    assert rotor_name(state_of(*before, begun, wrong)) == "flywheel"
    late = state_of(*before, begun, run(3, 0.2, planes=("disc",)), back)
    assert rotor_name(late) == "flywheel"
    assert len(late.spins) == 1

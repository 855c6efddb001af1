"""Sets of rotors balanced one after the other: frozen, taken back, added up, signed off."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from a_bench import Bench
from test_spin_desk import disc

from bench.computation.unbalance import PlaneVerdict
from bench.models.job import CorrectionPlane, JobSpec, Stage, Tolerance
from bench.models.rotor_set import first_spec, rotor_name
from bench.models.stations import CrankStation, StationSet
from bench.reports.job_json import JobDocument, job_document, job_json
from bench.use_cases import commands as c
from bench.use_cases.part_on_crank import part_view, shown_of
from bench.use_cases.review_job import review_job
from bench.use_cases.rotor_lines import rotor_lines, set_total
from bench.use_cases.sign_off import what_is_missing
from bench.use_cases.view import CutLine, Step, Tone

FLYWHEEL = Stage(
    name="flywheel",
    planes=(CorrectionPlane(name="disc", radius_mm=150.0, position_mm=360.0),),
    tolerance=Tolerance(shop_limit_g=0.5, spin_uncertainty_g=0.1),
)
COVER = Stage(
    name="clutch cover",
    on="crank",
    planes=(CorrectionPlane(name="cover", radius_mm=120.0, position_mm=390.0),),
    tolerance=Tolerance(shop_limit_g=1.5, spin_uncertainty_g=0.1),
)


def crank(*stages: Stage) -> JobSpec:
    spec = disc()
    front, rear = spec.planes
    return JobSpec.model_validate(
        spec.model_dump()
        | {"planes": [front.model_dump(), rear.model_dump() | {"position_mm": 300.0}]}
        | {"stages": [stage.model_dump() for stage in stages]}
    )


@pytest.fixture
def bench() -> Bench:
    bench = Bench(crank(FLYWHEEL, COVER))
    bench.scribe.by = "mk"
    bench.desk.handle(c.CreateJob(bench.spec))
    return bench


def state_of(bench: Bench) -> Any:
    assert bench.scribe.state is not None
    return bench.scribe.state


def crank_done(bench: Bench) -> None:
    bench.run(("front", "9.0", 30.0), ("rear", "3.0", 200.0))
    bench.desk.handle(c.RecordCuts((CutLine("front", 30.0, 8.8), CutLine("rear", 200.0, 2.8))))
    bench.run(("front", "0.4", 30.0), ("rear", "0.2", 200.0))


def test_an_inside_crank_goes_on_to_the_next_rotor_not_to_the_sign_off(bench: Bench) -> None:
    crank_done(bench)
    view = bench.desk.view()
    assert view.shown_step is Step.SPIN
    assert view.instruction.headline == "Inside: next the flywheel"
    assert view.review is not None
    assert view.review.whole_verdict is PlaneVerdict.INSIDE
    assert what_is_missing(view.review) == (
        "flywheel is still to be balanced",
        "clutch cover is still to be balanced",
    )
    bench.desk.handle(c.SignOff(deburred=True, cleaned=True))
    assert bench.said[-1].tone is Tone.REFUSE


def test_the_next_rotor_has_its_own_plane_runs_and_cautions_and_the_one_before_is_frozen(bench: Bench) -> None:
    crank_done(bench)
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    state = state_of(bench)
    assert rotor_name(state) == "flywheel"
    assert [plane.name for plane in state.spec.planes] == ["disc"]
    assert (state.spins, state.cuts) == ((), ())
    view = bench.desk.view()
    assert view.instruction.headline == "Spin: run 3, flywheel"
    assert any("arbor" in words for words in view.cautions)
    # the machine's text of the crank again has no plane of this name: nothing is taken
    bench.run(("front", "1.0", 30.0), ("rear", "1.0", 200.0))
    assert "no plane 'disc'" in bench.words
    bench.run(("disc", "6.0", 45.0))
    state = state_of(bench)
    assert [spin.number for spin in state.spins] == [3]
    assert [spin.number for spin in state.runs_taken] == [1, 2, 3]
    assert [cut.plane for cut in bench.desk.view().proposal.cuts] == ["disc"]  # type: ignore[union-attr]
    # only this rotor's things can be taken back: two runs and two cuts of the crank stay
    bench.desk.handle(c.TakeBack())
    bench.desk.handle(c.TakeBack())
    assert "next rotor taken back" not in bench.words
    state = state_of(bench)
    assert (rotor_name(state), len(state.spins), len(state.cuts)) == ("rotor", 2, 2)
    assert state.rotors_done == ()


def test_a_rotor_with_something_spun_cannot_be_taken_back_by_an_event_that_says_so(bench: Bench) -> None:
    from bench.trail.spin_events import RotorWithdrawn

    crank_done(bench)
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    bench.run(("disc", "6.0", 45.0))
    begun = state_of(bench).rotors_done[-1].entry.event_id
    bench.scribe.record([RotorWithdrawn(withdraws=begun, reason="forged")])
    assert rotor_name(state_of(bench)) == "flywheel"
    assert len(state_of(bench).spins) == 1


def test_a_rotor_outside_is_left_only_with_a_word_and_keeps_the_set_from_being_inside(bench: Bench) -> None:
    bench.run(("front", "9.0", 30.0), ("rear", "3.0", 200.0))
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    assert bench.said[-1].tone is Tone.REFUSE
    assert "not inside the tolerance" in bench.words
    bench.desk.handle(c.BeginRotor(FLYWHEEL, "customer wants it so"))
    bench.run(("disc", "0.1", 45.0))
    view = bench.desk.view()
    assert view.review is not None
    assert view.review.whole_verdict is PlaneVerdict.INSIDE
    assert "rotor was left outside its tolerance" in view.review.set_open
    done = state_of(bench).rotors_done[0]
    assert (done.inside, done.words, done.entry.by) == (False, "customer wants it so", "mk")


def test_a_part_on_the_crank_is_cut_alone_and_counts_in_both_planes(bench: Bench) -> None:
    crank_done(bench)
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    bench.run(("disc", "0.2", 45.0))
    bench.desk.handle(c.BeginRotor(COVER))
    state = state_of(bench)
    assert [plane.name for plane in state.spec.planes] == ["front", "rear"]
    # 5 g at 120 mm radius, 390 mm from the front plane, in planes of 90 mm radius at 0 and 300: by the lever rule the
    # rear shows 600 x 1.3 / 90 = 8.667 g, the front 600 x 0.3 / 90 = 2 g on the other side
    bench.run(("front", "2.0", 240.0), ("rear", "8.6667", 60.0))
    view = bench.desk.view()
    assert view.proposal is not None
    assert {cut.plane for cut in view.proposal.cuts} == {"cover"}
    grams = sum(cut.grams for cut in view.proposal.cuts)
    assert grams == pytest.approx(5.0, abs=0.6)
    assert all(abs(cut.angle_deg - 60.0) < 15.0 for cut in view.proposal.cuts)
    assert "would stay" not in view.proposal.why
    assert any("flywheel can burst" in words for words in view.cautions)
    # the crank is frozen: no metal goes from it
    bench.desk.handle(c.RecordCuts((CutLine("rear", 60.0, 5.0),)))
    assert bench.said[-1].tone is Tone.REFUSE
    assert "wanted cover" in bench.words.lower()
    bench.desk.handle(c.RecordCuts((CutLine("cover", 60.0, 5.0),)))
    bench.run(("front", "0.3", 240.0), ("rear", "0.2", 60.0))
    review = bench.desk.view().review
    assert review is not None
    assert review.whole_verdict is PlaneVerdict.INSIDE
    assert review.set_open == ()
    assert bench.desk.view().shown_step is Step.SIGN_OFF
    bench.desk.handle(c.SignOff(deburred=True, cleaned=True))
    assert state_of(bench).signed_off.within_tolerance
    lines = rotor_lines(state_of(bench))
    assert [(line.name, line.where, line.runs, line.cuts, line.frozen) for line in lines] == [
        ("rotor", "by itself", 2, 2, True),
        ("flywheel", "on an arbor", 1, 0, True),
        ("clutch cover", "on the balanced crank", 2, 1, False),
    ]
    assert all(line.verdict is PlaneVerdict.INSIDE for line in lines)
    bench.desk.handle(c.BeginRotor(FLYWHEEL.model_copy(update={"name": "damper"})))
    assert "signed off" in bench.words


def test_what_a_part_on_an_arbor_adds_to_the_crank_by_hand(bench: Bench) -> None:
    crank_done(bench)
    assert set_total(state_of(bench)) == ()
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    assert set_total(state_of(bench)) == ()
    bench.run(("disc", "0.3", 30.0))
    front, rear = set_total(state_of(bench))
    # 0.3 g x 150 mm = 45 g mm at 360 mm: 54 g mm in the rear = 0.6 g at 90 mm, 0.1 g on the other side in front
    assert front.amount_g == pytest.approx(0.4 - 0.1)
    assert front.angle_deg == pytest.approx(30.0)
    assert front.at_worst_g == pytest.approx(0.5)
    assert rear.at_worst_g == pytest.approx(0.8)
    # 0.2 g at 200 degrees and 0.6 g at 30 degrees: the law of cosines with 170 degrees between them
    assert rear.amount_g == pytest.approx((0.04 + 0.36 + 2 * 0.12 * -0.984807753) ** 0.5)


def test_what_is_not_the_parts_is_said_and_not_cut_for(bench: Bench) -> None:
    crank_done(bench)
    bench.desk.handle(c.BeginRotor(COVER))
    # 6 g in the front is nothing a part behind the rear plane could do
    bench.run(("front", "6.0", 0.0), ("rear", "8.6667", 60.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    assert "g in front" in proposal.why
    assert "would stay whatever is cut at the clutch cover" in proposal.why
    assert "Chance" not in proposal.why
    # least squares by numpy's own solver, planes of one limit
    shares = np.array([[-0.3 * 120.0 / 90.0], [1.3 * 120.0 / 90.0]], dtype=complex)
    shown = np.array([6.0, 8.6667 * np.exp(1j * np.pi / 3)])
    (wanted,), *_ = np.linalg.lstsq(shares, shown, rcond=None)
    state = state_of(bench)
    view = part_view(state.spec)
    assert view is not None
    (seen,) = view.seen(shown_of(state, state.spins[-1]))
    assert seen == pytest.approx(complex(wanted))
    assert sum(cut.grams for cut in proposal.cuts) == pytest.approx(abs(wanted), abs=0.8)


def test_stations_of_a_part_on_the_crank_are_the_parts() -> None:
    bench = Bench(crank(COVER))
    bench.scribe.by = "mk"
    bench.desk.handle(c.CreateJob(bench.spec))
    crank_done(bench)
    bench.desk.handle(c.BeginRotor(COVER))

    def on(plane: str) -> StationSet:
        station = CrankStation(
            name=f"{plane} 1", plane=plane, position_mm=390.0, outer_radius_mm=125.0, drills_mm=(8.0,), most_depth_mm=9.0
        )  # fmt: skip
        return StationSet(crank_type="cover C", stations=(station,))

    bench.desk.handle(c.EnterStations(on("rear")))
    assert "plane 'rear'; wanted cover" in bench.words.lower()
    bench.desk.handle(c.EnterStations(on("cover")))
    assert state_of(bench).stations is not None
    bench.run(("front", "0.4", 240.0), ("rear", "1.7333", 60.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    assert [(cut.station, cut.diameter_mm) for cut in proposal.cuts] == [("cover 1", 8.0)]


def test_a_rotor_that_cannot_be_is_refused_with_nothing_lost(bench: Bench) -> None:
    crank_done(bench)
    graded = FLYWHEEL.model_copy(update={"name": "damper", "tolerance": Tolerance(grade_mm_per_s=6.3)})
    bench.desk.handle(c.BeginRotor(graded))
    assert bench.said[-1].tone is Tone.REFUSE
    assert "rotor_mass_kg" in bench.words
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    bench.run(("disc", "0.1", 0.0))
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    assert "was begun before" in bench.words
    with pytest.raises(ValueError, match="without position_mm"):
        Stage(name="x", planes=(CorrectionPlane(name="x", radius_mm=9.0),), tolerance=Tolerance())


def test_the_grade_gives_each_rotor_its_share_by_its_own_mass() -> None:
    # ISO 21940-11, formula from memory: U_per = 1000 G m / w. G 6.3, 8 kg, 6,000 1/min (w = 628.3 rad/s) is 80.21 g mm,
    # the same figure as by hand; at 150 mm radius 0.535 g
    bench = Bench(crank(FLYWHEEL.model_copy(
        update={"tolerance": Tolerance(shop_limit_g=None, grade_mm_per_s=6.3), "rotor_mass_kg": 8.0, "speed_rpm": 6000.0}
    )))  # fmt: skip
    bench.scribe.by = "mk"
    bench.desk.handle(c.CreateJob(bench.spec))
    crank_done(bench)
    bench.desk.handle(c.BeginRotor(bench.spec.stages[0]))
    bench.run(("disc", "0.1", 0.0))
    (line,) = review_job(state_of(bench)).planes
    assert line.limit_g == pytest.approx(80.214 / 150.0, rel=1e-4)
    assert "grade G 6.3" in line.limit_words


def test_amending_in_a_later_stage_leaves_the_frozen_one_and_the_job_like_it_is_begins_anew(bench: Bench) -> None:
    crank_done(bench)
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    from bench.use_cases.amend_job import amend_job

    amend_job(bench.scribe, {"customer": "Skerry Sound", "tolerance": {"shop_limit_g": 0.3}}, reason="asked again")
    state = state_of(bench)
    assert state.spec.tolerance.shop_limit_g == 0.3
    assert state.rotors_done[0].spec.tolerance.shop_limit_g == 1.0
    first = first_spec(state)
    assert (first.customer, first.tolerance.shop_limit_g) == ("Skerry Sound", 1.0)
    assert [plane.name for plane in first.planes] == ["front", "rear"]
    # told again from its events it is the same
    assert bench.scribe.choose(state.number) == state


def test_the_job_as_json_has_every_rotor(bench: Bench) -> None:
    crank_done(bench)
    bench.desk.handle(c.BeginRotor(FLYWHEEL))
    bench.run(("disc", "0.3", 30.0))
    state = state_of(bench)
    told = job_document(state=state, review=review_job(state), checkpoint=bench.trail.checkpoint(), app_version="0.1.0")
    assert JobDocument.model_validate_json(job_json(told)) == told
    held = json.loads(job_json(told))
    assert [(r["name"], r["whole_verdict"], len(r["runs"]), len(r["cuts"])) for r in held["rotors"]] == [
        ("rotor", "inside", 2, 2),
        ("flywheel", "inside", 1, 0),
        ("clutch cover", "unknown", 0, 0),
    ]
    assert [round(one["at_worst_g"], 6) for one in held["total"]] == [0.5, 0.8]
    assert [run["number"] for run in held["runs"]] == [3]


def test_a_job_without_parts_and_rotors_is_stored_as_it_always_was() -> None:
    # a program of before refuses fields that it does not know
    spec = disc()
    assert not {"mounted", "stages", "cut_at"} & set(spec.model_dump(mode="json"))
    assert {"mounted", "stages"} <= set(
        JobSpec.model_validate(
            crank(COVER).model_dump() | {"balance": "external", "mounted": [{"name": "damper", "position_mm": -60.0}]}
        ).model_dump(mode="json")
    )

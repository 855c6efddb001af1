from __future__ import annotations

import cmath
import math
from decimal import Decimal

import pytest
from a_bench import Bench

from bench.computation.unbalance import PlaneVerdict
from bench.models.job import CorrectionPlane, JobSpec, Tolerance
from bench.trail.events import JobReopened
from bench.use_cases import commands as c
from bench.use_cases.errors import RefusedError
from bench.use_cases.record_run import grams_at_radius
from bench.use_cases.usual_layouts import LAYOUTS, planes_for
from bench.use_cases.view import CutLine, Doing, Step, Tone
from drivers.contract import ExportFault, ExportText, LinkChange, LinkState


def disc(**changes: object) -> JobSpec:
    values: dict[str, object] = {
        "title": "a crank without parts",
        "layout": LAYOUTS["flywheel"],
        "reciprocating_share": 0.5,
        "oil_g": 0.0,
        "planes": planes_for(LAYOUTS["v8"], radius_mm=90.0),
        "tolerance": Tolerance(shop_limit_g=1.0, spin_uncertainty_g=0.1),
    }
    return JobSpec.model_validate(values | changes)


@pytest.fixture
def bench() -> Bench:
    bench = Bench(disc())
    bench.desk.handle(c.CreateJob(bench.spec))
    assert bench.desk.view().shown_step is Step.SPIN
    return bench


def test_before_the_first_run_the_cautions_of_spinning_are_shown(bench: Bench) -> None:
    view = bench.desk.view()
    assert view.want.doing is Doing.SPIN
    assert any("Guard closed" in words for words in view.cautions)
    assert not any("obweight" in words for words in view.cautions)  # a disc has none
    assert view.proposal is None


def test_a_run_is_judged_and_cuts_are_proposed_with_the_cautions_of_drilling(bench: Bench) -> None:
    bench.run(("front", "40.0", 30.0), ("rear", "20.0", 200.0))
    view = bench.desk.view()
    assert view.review is not None
    assert view.review.whole_verdict is PlaneVerdict.OUTSIDE
    assert view.proposal is not None
    assert {cut.plane for cut in view.proposal.cuts} == {"front", "rear"}
    front = [cut for cut in view.proposal.cuts if cut.plane == "front"]
    # metal goes where the heavy spot is
    assert all(abs(cut.angle_deg - 30.0) < 30.0 for cut in front)
    assert 20.0 < sum(cut.grams for cut in front) < 44.0
    assert any("Eye protection" in words for words in view.cautions)
    assert not any("rankshaft" in words for words in view.cautions)
    bench.desk.handle(c.RecordCuts(view.proposal.cuts))
    after = bench.desk.view()
    assert after.review is not None
    assert after.review.whole_verdict is PlaneVerdict.UNKNOWN
    assert after.want.doing is Doing.SPIN
    assert after.want.run == 2


@pytest.mark.parametrize("amount", ["5.0000000000001", "1" * 15, "1e15"])
def test_a_figure_of_more_digits_than_the_record_holds_is_refused_in_words(bench: Bench, amount: str) -> None:
    bench.run(("front", amount, 30.0), ("rear", "20.0", 200.0))
    assert "at most 12 digits" in bench.words
    assert bench.desk.view().proposal is None


def test_to_the_end_and_signed_off(bench: Bench) -> None:
    bench.run(("front", "5.0", 30.0), ("rear", "0.5", 200.0))
    bench.desk.handle(c.RecordCuts((CutLine("front", 30.0, 4.8),)))
    bench.run(("front", "0.3", 30.0), ("rear", "0.5", 200.0))
    view = bench.desk.view()
    assert view.shown_step is Step.SIGN_OFF
    bench.desk.handle(c.SignOff(deburred=False, cleaned=True))
    assert "deburred" in bench.words
    bench.desk.handle(c.SignOff(deburred=True, cleaned=True))
    assert bench.desk.view().shown_step is Step.DONE
    bench.desk.handle(c.MakeCertificate())
    assert bench.desk.view().certificate_path == "/x/c.html"
    _, checkpoint = bench.written[0]
    assert bench.scribe.state is not None
    assert bench.scribe.state.certificates[-1].length == checkpoint.length
    bench.desk.handle(c.LeaveJob())
    assert bench.desk.view().job is None
    bench.desk.handle(c.ChooseJob("2031-0001"))
    assert bench.desk.view().shown_step is Step.DONE


def test_a_run_of_another_crank_never_goes_into_a_job_that_is_signed_off(bench: Bench) -> None:
    bench.run(("front", "0.3", 30.0), ("rear", "0.5", 200.0))
    bench.desk.handle(c.SignOff(deburred=True, cleaned=True))
    bench.run(("front", "61.0", 30.0), ("rear", "40.0", 200.0))
    assert "is signed off" in bench.words
    assert "reopen" in bench.words
    assert bench.scribe.state is not None
    assert len(bench.scribe.state.spins) == 1
    # opened again, it takes runs as ever
    bench.desk.handle(c.LeaveJob())
    bench.scribe.choose("2031-0001")
    bench.scribe.record([JobReopened(reason="the flange was turned")], how="typed")
    bench.desk.handle(c.ChooseJob("2031-0001"))
    bench.run(("front", "0.4", 30.0), ("rear", "0.5", 200.0))
    assert len(bench.scribe.state.spins) == 2


def test_signing_off_what_is_outside_needs_a_word(bench: Bench) -> None:
    bench.run(("front", "5.0", 30.0), ("rear", "0.5", 200.0))
    bench.desk.handle(c.SignOff(deburred=True, cleaned=True))
    assert "not inside" in bench.words
    bench.desk.handle(c.SignOff(deburred=True, cleaned=True, words="customer stops here"))
    assert bench.scribe.state is not None
    assert bench.scribe.state.signed_off is not None
    assert not bench.scribe.state.signed_off.within_tolerance


def test_a_missing_plane_is_told_and_nothing_is_taken(bench: Bench) -> None:
    bench.run(("front", "5.0", 30.0), name="run-9.txt")
    assert "run-9.txt" in bench.words
    assert "no plane 'rear'" in bench.words
    assert bench.said[-1].tone is Tone.REFUSE
    assert bench.scribe.state is not None
    assert not bench.scribe.state.spins


def test_a_fault_of_the_reader_is_told_with_line_and_remedy(bench: Bench) -> None:
    text = ExportText("r.txt", b"", "a" * 64)
    bench.desk.balancer_says([ExportFault(3, "REAR twice", "each plane once", "print it again")], text)
    assert "r.txt, line 3: REAR twice; wanted each plane once. Print it again" in bench.words
    bench.desk.balancer_says([], text)
    assert "no run in it" in bench.words


def test_the_same_text_twice_is_one_run(bench: Bench) -> None:
    bench.run(("front", "5.0", 30.0), ("rear", "0.5", 200.0))
    assert bench.scribe.state is not None
    sha = bench.scribe.state.spins[0].source_sha256
    bench.desk.balancer_says([], ExportText("again.txt", b"x", sha))
    assert bench.words == "again.txt: taken before"
    assert len(bench.scribe.state.spins) == 1


def test_taking_back_a_cut_then_the_run(bench: Bench) -> None:
    bench.run(("front", "5.0", 30.0), ("rear", "0.5", 200.0))
    bench.desk.handle(c.RecordCuts((CutLine("front", 30.0, 4.8),)))
    bench.desk.handle(c.TakeBack())
    assert bench.scribe.state is not None
    assert bench.scribe.state.cuts == ()
    bench.desk.handle(c.TakeBack())
    assert bench.scribe.state.spins == ()
    assert bench.trail.checkpoint().length == 5


@pytest.mark.parametrize(
    ("cut", "words"),
    [
        (CutLine("side", 30.0, 4.8), "plane 'side'"),
        (CutLine("front", 30.0, float("nan")), "nan g"),
        (CutLine("front", 30.0, 0.0), "0.0 g"),
        (CutLine("front", 1e9, 1.0), "wanted an angle"),
    ],
)
def test_cuts_that_cannot_be_are_refused(bench: Bench, cut: CutLine, words: str) -> None:
    bench.run(("front", "5.0", 30.0), ("rear", "0.5", 200.0))
    bench.desk.handle(c.RecordCuts((cut,)))
    assert words in bench.words
    assert bench.scribe.state is not None
    assert bench.scribe.state.cuts == ()


def test_typed_runs(bench: Bench) -> None:
    good = (("front", Decimal("5.0"), Decimal("-30")), ("rear", Decimal("0.5"), Decimal("370")))
    bench.desk.handle(c.TypeRun(good, "printer broken"))
    assert bench.scribe.state is not None
    spin = bench.scribe.state.spins[0]
    assert [round(p.angle_deg, 9) for p in spin.planes] == [330.0, 10.0]
    assert spin.entry.how == "typed"
    bench.desk.handle(c.TypeRun(good, ""))
    assert "no reason" in bench.words
    bench.desk.handle(c.TypeRun(good[:1], "x"))
    assert "wanted ['front', 'rear']" in bench.words
    bench.desk.handle(c.TypeRun((("front", Decimal("-1"), Decimal(0)), good[1]), "x"))
    assert "wanted grams from 0" in bench.words


def test_units_of_a_run() -> None:
    plane = CorrectionPlane(name="front", radius_mm=90.0)
    assert grams_at_radius(90.0, unit="g mm", plane=plane) == 1.0
    # 1 oz in = 720.077887375 g mm exactly (28.349523125 g x 25.4 mm)
    assert grams_at_radius(1.0, unit="oz in", plane=plane) == pytest.approx(720.077887375 / 90.0, rel=1e-12)
    with pytest.raises(RefusedError, match="wanted g, g mm or oz in"):
        grams_at_radius(1.0, unit="lb", plane=plane)


def test_a_grade_that_is_stricter_than_the_shop_decides() -> None:
    # ISO 21940-11: U_per = 1000 G m / omega; G 6.3, 30 kg at 3000 1/min is 601.6 g mm, half of it at 90 mm is 3.342 g
    tolerance = Tolerance(shop_limit_g=5.0, grade_mm_per_s=6.3)
    bench = Bench(disc(tolerance=tolerance, rotor_mass_kg=30.0, speed_rpm=3000.0))
    bench.desk.handle(c.CreateJob(bench.spec))
    review = bench.desk.view().review
    assert review is not None
    assert review.planes[0].limit_g == pytest.approx(1000 * 6.3 * 30 / 314.15927 / 2 / 90, rel=1e-6)
    assert "ISO 21940-11" in review.planes[0].limit_words


def test_the_folder_coming_and_going_is_told(bench: Bench) -> None:
    bench.desk.balancer_link(LinkChange(0, LinkState.ABSENT, "no such folder", "make the folder"))
    assert "make the folder" in bench.words
    assert bench.desk.view().instruments[0].state == "absent"


def test_a_hole_on_the_wrong_side_is_told_before_the_next_cut(bench: Bench) -> None:
    bench.run(("front", "40.0", 30.0), ("rear", "0.5", 200.0))
    bench.desk.handle(c.RecordCuts((CutLine("front", 30.0, 20.0),)))
    # drilled opposite: 20 g more are out instead of 20 g less
    bench.run(("front", "60.0", 30.0), ("rear", "0.5", 200.0))
    view = bench.desk.view()
    assert view.proposal is not None
    assert "180° out" in view.proposal.doubt
    assert view.proposal.cuts == ()
    assert view.want.doing is Doing.SPIN
    assert "before the next cut" in bench.words
    assert bench.said[-1].tone is Tone.ATTENTION
    # seen once more without a cut, what is left is certain again: planned from what geometry says, nothing learnt
    bench.run(("front", "60.1", 30.0), ("rear", "0.5", 200.0))
    again = bench.desk.view().proposal
    assert again is not None
    assert again.doubt == ""
    assert all(abs((cut.angle_deg - 30.0 + 180.0) % 360.0 - 180.0) < 40.0 for cut in again.cuts if cut.plane == "front")


def test_a_cut_that_was_recorded_but_not_made_leads_to_no_wild_cut(bench: Bench) -> None:
    bench.run(("front", "6.0", 200.0), ("rear", "6.5", 27.0))
    bench.desk.handle(c.RecordCuts((CutLine("front", 200.0, 5.8), CutLine("rear", 27.0, 6.3))))
    # the rear was never drilled
    bench.run(("front", "0.3", 153.0), ("rear", "6.97", 27.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    assert proposal.cuts == ()
    bench.run(("front", "0.3", 153.0), ("rear", "6.95", 27.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    assert sum(cut.grams for cut in proposal.cuts) < 9.0


def test_a_disc_of_one_plane_is_cut_where_it_is_heavy_and_not_short() -> None:
    bench = Bench(disc(planes=planes_for(LAYOUTS["flywheel"], radius_mm=120.0)))
    bench.desk.handle(c.CreateJob(bench.spec))
    bench.run(("front", "12.0", 30.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    # in two holes beside the place, whose strays average out
    assert len(proposal.cuts) == 2
    taken = sum(cmath.rect(cut.grams, math.radians(cut.angle_deg)) for cut in proposal.cuts)
    assert taken == pytest.approx(cmath.rect(12.0, math.radians(30.0)), abs=0.2)
    assert "short" not in proposal.why.lower()
    bench.desk.handle(c.RecordCuts(proposal.cuts))
    bench.run(("front", "0.4", 35.0))
    assert bench.desk.view().shown_step is Step.SIGN_OFF

"""The certificate says what the job's values are, and nothing it cannot know."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from bench.computation.unbalance import PlaneVerdict
from bench.models.job import Cell, CorrectionPlane, EngineLayout, JobSpec, Throw, Tolerance
from bench.models.job_state import AnglesProved, IndexRun
from bench.reports import certificate_spins, certificate_weights
from bench.reports.certificate import certificate_html
from bench.reports.certificate_compare import compare_certificates, read_checkpoint, read_facts
from bench.reports.checkpoint_code import CheckpointTextError, checkpoint_line, parse_checkpoint
from bench.trail.contract import Checkpoint
from bench.use_cases.demo_job import demo_spec, usual_kinds


def written(sample: Any, **changes: Any) -> str:
    given = {
        "state": sample.state,
        "review": sample.review,
        "checkpoint": sample.checkpoint,
        "written_utc": "2026-03-20T10:00:00.5Z",
        "app_version": "0.1.0",
    }
    return certificate_html(**(given | changes))


def test_facts_are_those_of_the_job(sample: Any) -> None:
    facts = read_facts(written(sample))
    assert facts["job"] == "2026-0001"
    assert facts["piston 1"] == "603.7"
    assert facts["piston 3"] == "605.3"
    assert facts["spread piston"] == "1.6"
    assert facts["rod_bearings 4"] == "100.2"
    assert facts["bobweight 2 target"] == "2317.8"
    assert facts["bobweight 2 uncertainty"] == "0.24"
    assert facts["bobweight 2 verdict"] == "within its band"
    assert facts["run 1 front"] == "70.50 g 214°"
    assert facts["verdict front"] == "inside"
    assert facts["limit rear"] == "1.00"
    assert facts["whole verdict"] == "✓ Inside tolerance in both planes"
    assert facts["percent figure"] == "99.962 %"
    assert "shop limit 1 g a plane" in facts["tolerance"]
    assert facts["share"].startswith("0.5 of the reciprocating parts")
    assert facts["simulated"].startswith("SIMULATED")
    assert "passed (2026-03-03" in facts["scale check"]
    assert facts["signed"].startswith("Signed off by MK")


def test_everybody_who_weighed_spun_or_cut_is_named_once_in_their_order(sample: Any) -> None:
    state = sample.state
    assert read_facts(written(sample))["opened"].endswith("by MK; at the bench MK")
    spins = (*state.spins[:-1], replace(state.spins[-1], entry=replace(state.spins[-1].entry, by="J<b>")))
    first = next(iter(state.weighed))
    early = replace(state.weighed[first].entry, by="an", seq=0)
    weighed = {**state.weighed, first: replace(state.weighed[first], entry=early)}
    other = replace(sample, state=replace(state, spins=spins, weighed=weighed))
    assert read_facts(written(other))["opened"].endswith("at the bench an, MK, J<b>")
    nobody = {cell: replace(one, entry=replace(one.entry, by="")) for cell, one in state.weighed.items()}
    bare = replace(state, weighed=nobody, spins=(), cuts=(), bobweights={})
    assert "at the bench" not in read_facts(written(replace(sample, state=bare)))["opened"]


def test_no_mark_of_simulation_on_a_real_job(make: Any) -> None:
    assert "SIMULATED" not in written(make(demo_spec().model_copy(update={"simulated": False, "serial": "7"})))


def test_the_page_holds_the_cautions_and_the_replaced_one(sample: Any) -> None:
    page = written(sample, replaces="2026-0001.html of 2026-03-01")
    assert "judgement of a qualified person come first" in page
    assert read_facts(page)["replaces"].startswith("Replaces 2026-0001.html of 2026-03-01.")
    assert "a habit of the trade, not a verdict" in page


def test_bobweight_sum_is_itemised_and_adds_up(sample: Any) -> None:
    sheet = certificate_weights.sum_sheets(sample.state, sample.review)[0]
    assert [row.label for row in sheet.rows][:1] == ["piston"]
    assert sheet.rows[0].parts[0] == ("603.7 + 603.7", "603.70")
    # common practice, no source: these parts make a bobweight of 2317.8 g
    for throw in range(4):
        assert math.fsum(float(row.parts[throw][1]) for row in sheet.rows) == pytest.approx(2317.8, abs=0.051)


def test_typed_and_retaken_weights_are_marked_and_explained(sample: Any) -> None:
    page = written(sample)
    assert '<span data-fact="piston 3">605.3</span><sup>rx</sup>' in page
    assert '<span data-fact="pin 5">188.5</span><sup>t</sup>' in page
    assert "piston 3: was 605.9" in page
    assert "piston pin 5: typed by MK, scale was away" in page


def test_a_job_without_runs_is_a_draft_that_claims_nothing(make: Any) -> None:
    facts = read_facts(written(make(spins=0, cuts=0, finished=False)))
    assert facts["whole verdict"] == "✗ Not spun yet: nothing is known about its unbalance"
    assert facts["signed"] == "Not signed off: this page is a draft."
    assert "2026-0001</span> DRAFT</h1>" in written(make(finished=False))
    assert "DRAFT" not in written(make())
    assert facts["residual front"] == "–"
    assert facts["cuts"] == "No cuts recorded."


@pytest.mark.parametrize("verdict", [v for v in PlaneVerdict if v is not PlaneVerdict.INSIDE])
def test_only_inside_reads_as_inside(sample: Any, verdict: PlaneVerdict) -> None:
    review = replace(sample.review, whole_verdict=verdict)
    assert read_facts(written(sample, review=review))["whole verdict"] == f"✗ Not inside tolerance: {verdict.value}"


def test_what_is_no_number_is_shown_as_such(sample: Any) -> None:
    planes = tuple(replace(p, amount_g=math.nan, angle_deg=math.nan, limit_g=math.inf) for p in sample.review.planes)
    spin = sample.state.spins[-1]
    bad = replace(spin, planes=tuple(replace(p, amount_g=math.nan) for p in spin.planes))
    page = written(
        sample,
        review=replace(sample.review, planes=planes),
        state=replace(sample.state, spins=(*sample.state.spins, bad)),
    )
    facts = read_facts(page)
    assert facts["residual front"] == facts["residual angle front"] == facts["limit front"] == "?"
    assert "nan" not in page.lower()


def test_the_same_arguments_give_the_same_page(sample: Any) -> None:
    assert written(sample) == written(sample)


def test_many_runs_and_cuts_say_what_was_left_out(make: Any) -> None:
    page = written(make(spins=14, cuts=20))
    assert "7 runs, 3 to 9, are in the trail" in page
    assert "11 earlier cuts are in the trail" in page
    facts = read_facts(page)
    assert [n for n in range(1, 15) if f"run {n} front" in facts] == [1, 2, 10, 11, 12, 13, 14]
    assert facts["cuts"].startswith("20 cuts; in all front −42.7 g")


def test_a_flywheel_has_one_plane_and_no_weights(make: Any) -> None:
    spec = demo_spec().model_copy(
        update={
            "layout": EngineLayout(name="single flywheel"),
            "kinds": (),
            "planes": (CorrectionPlane(name="rim", radius_mm=120.0, centre_deg=20.0, arc_deg=90.0),),
            "tolerance": Tolerance(shop_limit_g=None, grade_mm_per_s=6.3),
        }
    )
    sample = make(JobSpec.model_validate(spec.model_dump()), cuts=1)
    page = written(sample)
    facts = read_facts(page)
    assert facts["whole verdict"] == "✓ Inside tolerance in its plane"
    assert facts["cuts"] == "1 cut; in all rim −20.0 g at the correction radius."
    assert "balance quality grade G 6.3 (ISO 21940-11)" in facts["tolerance"]
    assert "share" not in facts
    assert "Bobweights" not in page
    assert "Thick arc: where metal may go." in page


def test_a_twelve_cylinder_job_has_several_sheets(make: Any) -> None:
    throws = tuple(Throw(number=i + 1, pin_deg=60.0 * i, cylinders=(2 * i + 1, 2 * i + 2)) for i in range(6))
    spec = demo_spec().model_copy(
        update={"layout": EngineLayout(name="V12", throws=throws), "kinds": usual_kinds()[:1] + usual_kinds()[-1:]}
    )
    sample = make(spec)
    sheets = certificate_weights.sheets(sample.state, sample.review)
    assert [(s.head, s.places) for s in sheets] == [
        ("cylinder", tuple(range(1, 9))),
        ("cylinder", (9, 10, 11, 12)),
        ("throw", (1, 2, 3, 4, 5, 6)),
    ]
    assert [len(s.throws) for s in certificate_weights.sum_sheets(sample.state, sample.review)] == [4, 2]
    assert "bobweight 6 target" in read_facts(written(sample))


class Balance(HTMLParser):
    """Every element that is opened is closed, in order."""

    void = frozenset({"meta", "br"})

    def __init__(self) -> None:
        super().__init__()
        self.open = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in self.void:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_page_is_well_formed_and_its_pictures_are_xml(sample: Any) -> None:
    page = written(sample, replaces="old.html")
    reader = Balance()
    reader.feed(page)
    assert reader.open == []
    parts = page.split("<svg")[1:]
    assert len(parts) == 3
    for part in parts:
        ET.fromstring("<svg" + part.split("</svg>")[0] + "</svg>")


def test_checkpoint_is_read_back_from_the_page(sample: Any) -> None:
    assert read_checkpoint(written(sample)) == sample.checkpoint


@pytest.mark.parametrize(
    "change",
    [
        lambda page: page.replace("01234567 89abcdef", "01234567 89abcdee", 1),
        lambda page: page.replace("checkpoint:1:91:", "checkpoint:1:92:"),
        lambda page: page.replace('name="spinledger-checkpoint"', 'name="nothing"'),
        lambda page: "",
    ],
)
def test_a_changed_page_has_no_checkpoint(sample: Any, change: Any) -> None:
    with pytest.raises(CheckpointTextError, match="wanted spinledger-checkpoint:1:LENGTH:HASH:BENCH"):
        read_checkpoint(change(written(sample)))


def test_checkpoint_line_round_trip_with_odd_bench() -> None:
    checkpoint = Checkpoint(bench="bänk: 2", length=0, head="f" * 64)
    assert parse_checkpoint(checkpoint_line(checkpoint) + "\r\n") == checkpoint


def test_a_newer_certificate_says_what_it_changes(make: Any) -> None:
    older, newer = make(), make()
    planes = (replace(newer.review.planes[0], amount_g=0.25), *newer.review.planes[1:])
    newer_page = written(
        newer,
        review=replace(newer.review, planes=planes, percent_figure=None),
        checkpoint=Checkpoint("skerry-1", 99, "e" * 64),
        replaces="old.html",
    )
    assert compare_certificates(written(older), newer_page) == (
        "residual front: now '0.25', was '0.73'",
        "percent figure: gone, was '99.962 %'",
    )
    back = compare_certificates(newer_page, written(older))
    assert "percent figure: now '99.962 %', was not there" in back


def test_cuts_are_told_after_the_run_they_follow(sample: Any) -> None:
    told = certificate_spins.cuts(sample.state)
    assert [(c.plane, c.after_run, c.grams) for c in told][:3] == [
        ("front", "1", "−20.00"),
        ("rear", "1", "−10.00"),
        ("front", "2", "−6.67"),
    ]


def test_templates_hold_no_script_and_no_outside_reference() -> None:
    import bench.reports

    folder = Path(bench.reports.__file__).parent / "templates"
    for file in folder.glob("*.j2"):
        words = file.read_text(encoding="utf-8").lower()
        assert not any(
            w in words for w in ("<script", "http:", "https:", "url(", "@import", " src=", "|safe", "| safe")
        ), file


def test_an_unfinished_weighing_says_what_is_open(sample: Any) -> None:
    state, review = sample.state, sample.review
    opened = Cell(kind="piston", place=2)
    doubtful = Cell(kind="pin", place=1)
    weighed = {cell: value for cell, value in state.weighed.items() if cell != opened}
    weighed[doubtful] = replace(weighed[doubtful], doubtful=True)
    piston = review.sets[0]
    grams, marks = list(piston.grams), list(piston.marks)
    grams[1], marks[1] = None, "skipped"
    sets = (replace(piston, grams=tuple(grams), marks=tuple(marks)), *review.sets[1:])
    missing = replace(review.throws[0], missing=("piston 2",), lines=(), target_g=None, made_g=None, off_g=None)
    unmade = replace(review.throws[1], made_g=None, off_g=None, within=False)
    outside = replace(review.throws[2], off_g=-0.4, within=False)
    page = written(
        sample,
        state=replace(state, weighed=weighed, scale_checks=()),
        review=replace(review, sets=sets, throws=(missing, unmade, outside, review.throws[3])),
    )
    facts = read_facts(page)
    assert '<span data-fact="piston 2">–</span><sup>s</sup>' in page
    assert '<span data-fact="pin 1">188.5</span><sup>d</sup>' in page
    assert "piston pin 1: uncertainty too large for its set's limit" in page.replace("&#39;", "'")
    assert facts["whole verdict"] == (
        "✗ Inside tolerance in both planes, but spun with bobweights not within their band: throws 1, 2, 3"
    )
    assert [facts[f"bobweight {n} verdict"] for n in (1, 2, 3, 4)] == [
        "still open: piston 2",
        "not made yet",
        "outside its band",
        "within its band",
    ]
    assert facts["bobweight 1 uncertainty"] == "0.24"
    assert facts["bobweight 3 off"] == "−0.40"
    assert facts["scale check"] == "No known weight was put on the scale in this job."


def test_both_limits_say_that_the_stricter_decides(make: Any) -> None:
    spec = demo_spec().model_copy(update={"tolerance": Tolerance(shop_limit_g=1.0, grade_mm_per_s=6.3)})
    words = read_facts(written(make(spec)))["tolerance"]
    assert words.startswith(
        "shop limit 1 g a plane; balance quality grade G 6.3 (ISO 21940-11); bobweights to 0.1 g; the stricter"
    )


def test_a_sign_off_against_the_verdict_says_so(sample: Any) -> None:
    done = replace(sample.state.signed_off, within_tolerance=False, deburred=False, words="owner told")
    signed = read_facts(written(sample, state=replace(sample.state, signed_off=done)))["signed"]
    assert "NOT inside tolerance when signed, deburring not confirmed" in signed
    assert signed.endswith("owner told")


def test_cuts_without_a_hole_or_a_run_before_them_are_told_too(sample: Any) -> None:
    cut = replace(sample.state.cuts[0], diameter_mm=None, depth_mm=None, station="", grams=-4.0)
    told = certificate_spins.cuts(replace(sample.state, cuts=(cut,), spins=()))[0]
    assert (told.grams, told.hole, told.after_run) == ("+4.00", "", "–")


def test_what_turned_sets_and_known_masses_told_stands_on_the_page(sample: Any) -> None:
    assert "tooling" not in read_facts(written(sample))
    state = sample.state
    base = state.spins[-1]
    front, rear = base.planes
    # the set is 0.2 g along the front's reading: turned, it shows 0.4 g less there and the same at the rear
    turned = replace(
        base,
        entry=replace(base.entry, event_id="turned", seq=base.entry.seq + 1),
        planes=(replace(front, amount_g=front.amount_g - 0.4), rear),
    )
    index = IndexRun(entry=turned.entry, run=turned, against=base.entry.event_id, turned_deg=180.0)
    proved = AnglesProved(base.entry, "machine B", "front", 10.0, agrees=True, words="the profile is right")
    facts = read_facts(
        written(sample, state=replace(state, index_runs=(index,), angles_proved=(proved,), bobweights={}))
    )
    assert f"rotor {front.amount_g - 0.2:.2f} g" in facts["tooling"]
    assert "bobweight set 0.20 g" in facts["tooling"]
    assert "machine B checked with 10 g at the front" in facts["machine"]

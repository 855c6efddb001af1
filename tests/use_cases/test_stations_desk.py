"""Stations measured on a crank, cuts put right, and one plane a run, through the desk."""

from __future__ import annotations

import pytest
from a_bench import Bench
from test_spin_desk import disc

from bench.models.stations import CrankStation, StationHole, StationKeepOut, StationSet
from bench.use_cases import commands as c
from bench.use_cases.view import CutLine, Doing


def station(name: str, at: float, middle: float, **more: object) -> CrankStation:
    values: dict[str, object] = {
        "name": name,
        "plane": name.split(maxsplit=1)[0],
        "position_mm": at,
        "outer_radius_mm": 92.0,
        "centre_deg": middle,
        "arc_deg": 140.0,
        "drills_mm": (12.0, 16.0),
        "most_depth_mm": 30.0,
    }
    return CrankStation.model_validate(values | more)


def four_pin(**front: object) -> StationSet:
    return StationSet(
        crank_type="four-pin",
        stations=(station("front 1", 0.0, 180.0, **front), station("rear 1", 450.0, 0.0)),
    )


@pytest.fixture
def bench() -> Bench:
    bench = Bench(disc())
    bench.desk.handle(c.CreateJob(bench.spec))
    return bench


def front_cuts(bench: Bench) -> list[CutLine]:
    proposal = bench.desk.view().proposal
    assert proposal is not None
    return [cut for cut in proposal.cuts if cut.plane == "front"]


def test_cuts_at_measured_stations_have_drill_and_depth_within_the_limit(bench: Bench) -> None:
    bench.desk.handle(c.EnterStations(four_pin()))
    bench.run(("front", "60.0", 170.0), ("rear", "20.0", 10.0))
    cuts = front_cuts(bench)
    assert all(cut.station == "front 1" and cut.diameter_mm in {12.0, 16.0} for cut in cuts)
    assert all(0.0 < (cut.depth_mm or 0.0) <= 30.0 for cut in cuts)
    # a 16 mm hole 30 mm deep takes 201.06 x 30 mm3 and its point: not 60 g but about 42 g at 90 mm
    assert all(cut.grams < 43.0 for cut in cuts)


def test_a_keep_out_and_a_hole_that_is_there_are_left_alone(bench: Bench) -> None:
    keep = StationKeepOut(centre_deg=170.0, half_width_deg=6.0, what="oil hole")
    hole = StationHole(angle_deg=150.0, diameter_mm=16.0, depth_mm=29.9)
    bench.desk.handle(c.EnterStations(four_pin(keep_outs=(keep,), holes=(hole,))))
    bench.run(("front", "20.0", 165.0), ("rear", "0.3", 10.0))
    for cut in front_cuts(bench):
        assert not 160.0 < cut.angle_deg < 180.0
        assert not 140.0 < cut.angle_deg < 160.0


@pytest.mark.parametrize(
    ("stations", "words"),
    [
        (four_pin(plane="side"), "plane 'side'; wanted front or rear"),
        (four_pin(plane="rear"), "no station in plane front"),
        (four_pin(arc_deg=10.0), "stations[0].arc_deg"),
        (four_pin(most_depth_mm=91.0), "stations[0].depth_mm: 91.0"),
    ],
)
def test_stations_that_cannot_be_are_refused_and_not_recorded(bench: Bench, stations: StationSet, words: str) -> None:
    bench.desk.handle(c.EnterStations(stations))
    assert words in bench.words
    assert bench.scribe.state is not None
    assert bench.scribe.state.stations is None


def test_chips_and_a_measured_hole_say_what_was_taken(bench: Bench) -> None:
    bench.run(("front", "60.0", 170.0), ("rear", "20.0", 10.0))
    bench.desk.handle(c.RecordCuts((CutLine("front", 170.0, 0.0, diameter_mm=16.0, depth_mm=20.0),)))
    assert "no station is measured" in bench.words
    bench.desk.handle(c.EnterStations(four_pin()))
    hole = CutLine("front", 170.0, 0.0, station="front 1", diameter_mm=16.0, depth_mm=20.0)
    chips = CutLine("rear", 10.0, 0.0, station="rear 1", diameter_mm=16.0, chips_g=33.96)
    bench.desk.handle(c.RecordCuts((hole, chips)))
    assert bench.scribe.state is not None
    first, second = bench.scribe.state.cuts
    # cylinder 201.06 x 20 mm3 at 82 mm, cone 322 mm3 at 70.8 mm, 7.85 g/cm3, counted at 90 mm: 30.7 g
    assert first.grams == pytest.approx(30.7, abs=0.2)
    # (4021 + 322 - 17) mm3 of it weigh 33.96 g
    assert second.grams == pytest.approx(first.grams, abs=0.3)
    assert second.chips_g == 33.96


def test_a_cut_that_was_made_elsewhere_is_put_right_before_the_run_that_answered_it(bench: Bench) -> None:
    bench.run(("front", "40.0", 160.0), ("rear", "0.5", 10.0))
    bench.desk.handle(c.RecordCuts((CutLine("front", 160.0, 20.0),)))
    # really drilled at 200 degrees: 40 at 160 less 20 at 200 is 28.2 at 132.9 (law of cosines)
    bench.run(("front", "28.2", 132.9), ("rear", "0.5", 10.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    assert proposal.doubt
    assert bench.scribe.state is not None
    recorded = bench.scribe.state.cuts[0].entry.event_id
    bench.desk.handle(c.PutCutsRight((("no such", CutLine("front", 200.0, 20.0)),)))
    assert "no such cut" in bench.words
    bench.desk.handle(c.PutCutsRight(((recorded, CutLine("front", 200.0, 20.0)),)))
    assert bench.words.startswith("put right: 20.0 g removed at front 200.0°")
    assert [cut.angle_deg for cut in bench.scribe.state.cuts] == [200.0]
    assert bench.scribe.state.spins[-1].after_cuts == 1
    view = bench.desk.view()
    assert view.proposal is not None
    assert view.proposal.doubt == ""
    assert view.want.doing is Doing.CUT
    # and a cut that was not made at all is told as nothing, in its place, so that this too can be put right again
    bench.desk.handle(c.PutCutsRight(((recorded, CutLine("front", 200.0, 0.0)),)))
    assert bench.words.startswith("put right: the cut at front 200.0° was not made")
    bench.desk.handle(c.PutCutsRight(((recorded, CutLine("front", 200.0, 19.0)),)))
    assert [cut.grams for cut in bench.scribe.state.cuts] == [19.0]


def test_one_plane_a_run_when_the_person_prefers(bench: Bench) -> None:
    bench.run(("front", "40.0", 30.0), ("rear", "20.0", 200.0))
    assert {cut.plane for cut in bench.desk.view().proposal.cuts} == {"front", "rear"}  # type: ignore[union-attr]
    bench.desk.handle(c.CutOnePlane(one_plane=True))
    assert {cut.plane for cut in bench.desk.view().proposal.cuts} == {"front"}  # type: ignore[union-attr]
    bench.desk.handle(c.CutOnePlane(one_plane=False))
    assert {cut.plane for cut in bench.desk.view().proposal.cuts} == {"front", "rear"}  # type: ignore[union-attr]


def test_repeated_runs_teach_how_well_the_machine_repeats(bench: Bench) -> None:
    for grams in ("40.0", "40.1", "39.9", "40.05"):
        bench.run(("front", grams, 30.0), ("rear", "20.0", 200.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    assert any("from 3 runs without a cut" in words for words in proposal.answer)


def test_what_no_cut_can_reach_is_told_with_a_slug(bench: Bench) -> None:
    bench.desk.handle(c.EnterStations(four_pin()))
    # the heavy spot is where the front has no metal
    bench.run(("front", "8.0", 0.0), ("rear", "0.2", 10.0))
    proposal = bench.desk.view().proposal
    assert proposal is not None
    assert proposal.cuts == ()
    assert "heavy metal" in proposal.why
    slug = next(words for words in proposal.answer if "slug" in words)
    # net 9.15 g/cm3 of 8 g at 90 mm: 12 mm across, 113 mm2, about 8.5 mm with the point's cone
    assert "12 x " in slug

"""What is typed in the spin step: lines for cuts and for stations."""

from __future__ import annotations

from typing import Any

import pytest
from listening_desk import ListeningDesk, frame, settle, some_state, view_of

from bench.models.job import CorrectionPlane
from bench.models.stations import StationSet
from bench.screens.app import BenchApp
from bench.screens.form_dialog import FormComplaintError, FormDialog
from bench.screens.spin_dialogs import (
    cut_from,
    cut_words,
    cuts_as_made,
    enter_stations,
    station_from,
    station_words,
)
from bench.use_cases.commands import EnterStations, PutCutsRight, RecordCuts
from bench.use_cases.view import CutLine, Doing, Proposal, Step, Want

PLACES = {"front": ("front", ""), "rear": ("rear", ""), "front 1": ("front", "front 1")}
PLANES = (
    CorrectionPlane(name="front", radius_mm=90.0, position_mm=0.0, centre_deg=180.0, arc_deg=110.0),
    CorrectionPlane(name="rear", radius_mm=90.0, position_mm=450.0),
)
ASKED = CutLine("front", 168.0, 26.2, station="front 1", diameter_mm=16.0, depth_mm=21.1, from_depth_mm=5.0)
LINE = "front 1; at 30; radius 92; middle 180; arc 120; drills 12 16; depth 32; keep 185/6 oil hole"


def answers(dialog: FormDialog, **changed: str) -> dict[str, str]:
    told = {field.name: field.value for field in dialog._fields}
    return told | {name.replace("_", "-"): text for name, text in changed.items()}


def given(dialog: FormDialog, **changed: str) -> Any:
    return dialog._read(answers(dialog, **changed))


def complaint(dialog: FormDialog, **changed: str) -> str:
    with pytest.raises(FormComplaintError) as caught:
        given(dialog, **changed)
    return f"{caught.value.field}: {caught.value}"


@pytest.mark.parametrize(
    ("text", "cut"),
    [
        ("front 1 168.0 26.2 g 16x21.1", ASKED),
        ("rear 30 4", CutLine("rear", 30.0, 4.0)),
        ("rear 30° 4,5 g", CutLine("rear", 30.0, 4.5)),
        ("front 1 30 12x20", CutLine("front", 30.0, 0.0, station="front 1", diameter_mm=12.0, depth_mm=20.0)),
        ("front 1 30 chips 25.9", CutLine("front", 30.0, 0.0, station="front 1", chips_g=25.9)),
        ("rear 30 -14.5", CutLine("rear", 30.0, -14.5)),
    ],
)
def test_lines_of_cuts(text: str, cut: CutLine) -> None:
    asked = ASKED if text.startswith("front 1 168") else None
    assert cut_from(text, "cut-0", PLACES, asked) == cut


def test_what_was_measured_counts_and_not_the_grams_of_the_card() -> None:
    assert cut_words(ASKED) == "front 1 168.0 26.2 g 16x21.1"
    deeper = cut_from("front 1 168.0 26.2 g 16x24.0", "cut-0", PLACES, ASKED)
    assert (deeper.grams, deeper.depth_mm, deeper.from_depth_mm) == (0.0, 24.0, 5.0)
    weighed = cut_from("front 1 168.0 26.2 g chips 27.4", "cut-0", PLACES, ASKED)
    assert (weighed.grams, weighed.chips_g) == (0.0, 27.4)
    told = cut_from("front 1 171 28 g 16x24.0", "cut-0", PLACES, ASKED)
    assert (told.grams, told.angle_deg) == (28.0, 171.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("side 30 4", "wanted front or rear or front 1"),
        ("front", "wanted place, angle"),
        ("front 30", "wanted place, angle"),
        ("front thirty 4", "'thirty' is no number"),
        ("front 30 12xdeep", "'deep' is no number"),
    ],
)
def test_lines_that_are_no_cut_say_what_is_wanted(text: str, words: str) -> None:
    with pytest.raises(FormComplaintError, match=words):
        cut_from(text, "cut-0", PLACES)


def test_every_proposed_cut_can_be_edited_left_out_and_added_to() -> None:
    proposal = Proposal((CutLine("front", 168.0, 26.2), CutLine("rear", 24.0, 10.6)), "why")
    dialog = cuts_as_made(proposal, some_state(runs=1))
    assert given(dialog) == RecordCuts(proposal.cuts)
    made = given(dialog, cut_0="", cut_1="rear 26 11", cut_3="front 200 1.5")
    assert made == RecordCuts((CutLine("rear", 26.0, 11.0), CutLine("front", 200.0, 1.5)))
    assert complaint(dialog, cut_0="", cut_1="").startswith("cut-0: no cut is left")


def test_recorded_cuts_are_put_right_where_a_run_does_not_bear_them_out() -> None:
    state = some_state(runs=2)
    doubted = Proposal((), "why", doubt="180° out")
    dialog = cuts_as_made(doubted, state)
    assert "nothing is changed" in complaint(dialog)
    assert "0 g" in complaint(dialog, cut_0="")
    command = given(dialog, cut_1="rear 198 31.4 g")
    assert command == PutCutsRight(((state.cuts[1].entry.event_id, CutLine("rear", 198.0, 31.4)),))
    assert given(dialog, cut_0="front 201 0 g").cuts[0][1].grams == 0.0


def test_a_station_line_is_read_and_written_the_same() -> None:
    station = station_from(f"{LINE}; hole 170/12/20", "station-0", PLANES)
    assert station_words(station) == f"{LINE}; hole 170/12/20"
    assert station.keep_outs[0].what == "oil hole"
    assert station.holes[0].depth_mm == 20.0
    bare = station_from("rear 1; plane rear; drills 10; depth 20", "station-1", PLANES)
    assert (bare.position_mm, bare.outer_radius_mm, bare.centre_deg) == (450.0, 90.0, None)
    assert station_from(station_words(bare), "station-1", PLANES) == bare


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("front 1; plane side; drills 12; depth 20", "plane 'side'; wanted front or rear"),
        ("front 1; drills 12", "wanted drills and the depth limit"),
        ("front 1; colour red; drills 12; depth 20", "'colour red' is not understood"),
        ("front 1; drills 12; depth 20; keep 185", "wanted 2 figures with strokes"),
        ("front 1; drills 12; depth 20; hole 1/2", "wanted 3 figures with strokes"),
        ("front 1; drills 12; depth none", "'none' is no number"),
        ("front 1; drills 12; depth 20; arc 400", "arc_deg: Input should be less than or equal to 360"),
    ],
)
def test_station_lines_that_cannot_be_say_what_is_wanted(text: str, words: str) -> None:
    with pytest.raises(FormComplaintError, match=words):
        station_from(text, "station-0", PLANES)


def test_stations_are_entered_from_lines_or_from_a_template() -> None:
    state = some_state(runs=1)
    dialog = enter_stations(state, ())
    assert complaint(dialog).startswith("type: wanted a name")
    entered = given(dialog, type="four-pin", measured="yes")
    assert isinstance(entered, EnterStations)
    # what stands there at first is the job's planes
    assert [(s.plane, s.centre_deg, s.outer_radius_mm) for s in entered.stations.stations] == [
        ("front", 180.0, 90.0),
        ("rear", 0.0, 90.0),
    ]
    assert entered.stations.measured
    assert "no station in plane rear" in complaint(dialog, type="four-pin", station_1="")
    assert "two stations of one name" in complaint(dialog, type="four-pin", station_2="front 1; drills 12; depth 20")
    known = StationSet(crank_type="cast 77", stations=(station_from(LINE, "s", PLANES), entered.stations.stations[1]))
    assert given(enter_stations(state, (known,)), type="cast 77") == EnterStations(known)


async def test_a_box_that_is_not_ticked_shows_no_cross() -> None:
    app = BenchApp(ListeningDesk(view_of(some_state(runs=1), Step.SPIN, Want(Doing.SPIN, run=2))))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("f")
        await settle(pilot)
        ticked = next(line for line in frame(app) if "measured on this crank" in line)
        assert "X" not in ticked
        assert any("front 1; at 0; radius 90; middle 180; arc 110; drills 12 16" in line for line in frame(app))
        await pilot.press("tab", "space")
        await settle(pilot)
        assert "X" in next(line for line in frame(app) if "measured on this crank" in line)

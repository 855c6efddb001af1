from __future__ import annotations

from decimal import Decimal

import pytest
from a_bench import Bench

from bench.capture.decisions import Advised, Asked, Doubted, Live, Phase, ScaleBack, ScaleLost, Taken
from bench.models.job import Cell, cells_in_order
from bench.trail.errors import RecordFullError
from bench.use_cases import commands as c
from bench.use_cases.instruct import instruction_for, what_is_wanted
from bench.use_cases.view import Doing, Step, Tone

PISTON_1 = Cell(kind="piston", place=1)


@pytest.fixture
def bench() -> Bench:
    bench = Bench()
    bench.desk.handle(c.CreateJob(bench.spec))
    return bench


def test_a_new_job_is_opened_and_numbered_and_asks_for_the_first_part(bench: Bench) -> None:
    view = bench.desk.view()
    assert view.job is not None
    assert view.job.number == "2031-0001"
    assert view.instruction.headline == "Lay piston 1 of 8"
    assert view.want.cell == PISTON_1
    assert [line.number for line in view.jobs] == ["2031-0001"]
    bench.desk.handle(c.CreateJob(bench.spec))
    assert bench.scribe.state is not None
    assert bench.scribe.state.number == "2031-0002"


def test_a_taken_weight_is_recorded_before_it_is_said_and_the_next_is_due(bench: Bench) -> None:
    seen: list[int] = []
    bench.desk.hear(lambda _: seen.append(bench.trail.checkpoint().length))
    bench.take("586.4")
    assert seen == [2]
    assert bench.said[-1].tone is Tone.ACCEPT
    assert "piston 1, 586.4 g" in bench.words
    assert bench.desk.view().want.doing is Doing.LIFT
    assert bench.machine.due is not None
    assert bench.machine.due.key == "piston 2"
    bench.lift(key="piston 1")
    assert bench.desk.view().instruction.headline == "Lay piston 2 of 8"


def test_a_value_amended_at_lift_replaces_the_first_one(bench: Bench) -> None:
    bench.take("586.4")
    better = Taken(0, "piston 1", Decimal("586.2"), "g", Decimal("586.2"), 586.21, 0.03, False, ("more",))
    bench.lift(better, key="piston 1")
    assert bench.scribe.state is not None
    weighed = bench.scribe.state.weighed[PISTON_1]
    assert weighed.grams == Decimal("586.2")
    assert weighed.earlier == ()
    assert "amended" in bench.words


def test_a_value_that_left_before_it_was_sure_is_shown_as_doubtful_and_said(bench: Bench) -> None:
    bench.take("586.4", u=0.09)
    same = Taken(0, "piston 1", Decimal("586.4"), "g", Decimal("586.4"), 586.38, 0.09, True, ("raw line",))
    bench.lift(same, key="piston 1")
    assert bench.scribe.state is not None
    weighed = bench.scribe.state.weighed[PISTON_1]
    assert weighed.grams == Decimal("586.4")
    assert weighed.doubtful
    assert bench.words == "piston 1: 586.4 g is shown as doubtful: it left before it was surer than ±0.18 g"


def test_a_surer_value_that_shows_the_same_is_recorded_without_words(bench: Bench) -> None:
    bench.take("586.4", u=0.09)
    said = len(bench.said)
    surer = Taken(0, "piston 1", Decimal("586.4"), "g", Decimal("586.4"), 586.41, 0.05, False, ("more",))
    bench.lift(surer, key="piston 1")
    assert bench.scribe.state is not None
    assert bench.scribe.state.weighed[PISTON_1].standard_uncertainty_g == 0.05
    assert not any("piston 1" in one.words for one in bench.said[said:])


def test_a_doubted_value_is_taken_back_and_asked_for_again(bench: Bench) -> None:
    bench.take("586.4")
    bench.decide(Doubted(0, "piston 1", "it moved while it lay there"))
    assert bench.scribe.state is not None
    assert PISTON_1 not in bench.scribe.state.weighed
    assert bench.desk.view().want.cell == PISTON_1 or bench.desk.view().want.doing is Doing.LIFT
    assert bench.said[-1].tone is Tone.REFUSE


def test_a_full_disk_is_said_and_the_part_stays_due(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_drafts: object) -> None:
        raise RecordFullError("record.db", found="the disk is full", do="free some space")

    monkeypatch.setattr(bench.trail, "append", full)
    bench.take("586.4")
    assert "not taken" in bench.words
    assert bench.said[-1].tone is Tone.REFUSE
    assert bench.machine.due is not None
    assert bench.machine.due.key == "piston 1"
    monkeypatch.undo()
    bench.take("586.4")
    assert "taken: piston 1" in bench.words


def test_questions_are_shown_and_answered(bench: Bench) -> None:
    bench.decide(Asked(0, "piston 1", "612.3 g looks like a rod, piston expected", ("again", "take", "skip")))
    view = bench.desk.view()
    assert view.question is not None
    assert view.want.doing is Doing.ANSWER
    bench.desk.handle(c.Answer("take"))
    assert bench.machine.answers == ["take"]
    bench.decide(Asked(0, "piston 1", "again?", ("skip",)))
    bench.desk.handle(c.Answer("skip"))
    assert bench.desk.view().want.cell == Cell(kind="piston", place=2)


def test_a_lost_scale_is_told_with_its_remedy(bench: Bench) -> None:
    bench.decide(ScaleLost(0, "the scale is gone", "look at the plug"))
    view = bench.desk.view()
    assert view.instruction.headline == "Scale not heard"
    assert "look at the plug" in view.instruction.detail
    bench.decide(ScaleBack(0))
    assert bench.desk.view().instruction.headline == "Lay piston 1 of 8"
    bench.decide(Advised(0, "not steady: cover the pan"))
    assert bench.words == "not steady: cover the pan"
    before = len(bench.said)
    bench.desk.handle(c.ShowStep(Step.SPIN))
    bench.decide(Advised(0, "not steady: cover the pan"))
    bench.decide(ScaleLost(0, "the scale is gone", "look at the plug"))
    assert len(bench.said) == before


def test_typing_skipping_going_back_and_taking_back(bench: Bench) -> None:
    bench.desk.handle(c.TypeWeight(PISTON_1, Decimal("586.4"), "scale at the makers"))
    assert bench.scribe.state is not None
    assert bench.scribe.state.weighed[PISTON_1].entry.how == "typed"
    bench.desk.handle(c.TypeWeight(PISTON_1, Decimal("NaN"), "x"))
    assert "wanted a weight" in bench.words
    bench.desk.handle(c.TypeWeight(PISTON_1, Decimal(5), " "))
    assert "no reason" in bench.words
    bench.desk.handle(c.TypeWeight(Cell(kind="piston", place=9), Decimal(5), "x"))
    assert "no such place" in bench.words
    bench.desk.handle(c.Skip())
    assert bench.desk.view().want.cell == Cell(kind="piston", place=3)
    bench.desk.handle(c.GoTo(PISTON_1))
    assert bench.desk.view().want.cell == PISTON_1
    bench.take("586.0")
    weighed = bench.scribe.state.weighed[PISTON_1]
    assert weighed.earlier == (Decimal("586.4"),)
    assert weighed.reason == "weighed again"
    bench.lift(key="piston 1")
    bench.desk.handle(c.TakeBack())
    assert "taken back" in bench.words
    bench.desk.handle(c.WriteNote("bore was honed"))
    assert bench.scribe.state.notes[-1][1] == "bore was honed"
    bench.desk.handle(c.WriteNote(" "))
    assert "nothing written" in bench.words
    bench.desk.handle(c.SetInitials("mk"))
    assert bench.desk.view().by == "mk"


def test_nothing_is_asked_of_a_bench_without_a_job() -> None:
    bench = Bench()
    for command in (
        c.TakeBack(),
        c.Skip(),
        c.WriteNote("x"),
        c.SignOff(deburred=True, cleaned=True),
        c.MakeCertificate(),
        c.ChooseJob("2031-0404"),
        c.TypeRun((), "x"),
        c.RecordCuts(()),
        c.TypeWeight(PISTON_1, Decimal(5), "x"),
    ):
        before = len(bench.said)
        bench.desk.handle(command)
        assert len(bench.said) == before + 1
        assert bench.said[-1].tone is Tone.REFUSE
    assert bench.trail.checkpoint().length == 0
    assert bench.desk.view().instruction.headline == "Open a job"
    bench.decide(Live(0, None, "g", None, Phase.EMPTY))
    assert bench.desk.view().live.shown == "---.-"


def test_the_sheet_fills_and_leads_on_to_the_bobweights_and_the_spin() -> None:
    bench = Bench(simulated=True)
    bench.desk.handle(c.CreateJob(bench.spec))
    # per rod: whole 818.2, small end 250.0, piston 603.7, rings 30.1, pin 188.5, locks 2.9; four shells together 100.2
    # on a throw, oil 6.0, half: 2317.8 g (common practice, no source)
    grams = {
        "piston": "603.7",
        "pin": "188.5",
        "rings": "30.1",
        "locks": "2.9",
        "rod_whole": "818.2",
        "rod_small_end": "250.0",
        "rod_bearings": "100.2",
    }
    for cell in cells_in_order(bench.spec):
        bench.take(grams[cell.kind])
        bench.lift(key=str(cell))
    view = bench.desk.view()
    assert view.shown_step is Step.BOBWEIGHTS
    assert view.review is not None
    assert [round(t.target_g or 0, 6) for t in view.review.throws] == [2317.8] * 4
    for throw in (1, 2, 3, 4):
        assert bench.desk.view().want.throw == throw
        bench.take("2317.8")
        bench.lift(key=f"bobweight {throw}")
    assert bench.desk.view().shown_step is Step.SPIN
    bench.run(("front", "0.70", 10.0), ("rear", "0.88", 20.0))
    # a worst plane of 0.88 g is 0.038 % of the bobweight (common practice, no source)
    review = bench.desk.view().review
    assert review is not None
    assert round(review.percent_figure or 0, 3) == 0.038
    assert {event.how for event in bench.trail.events()} == {"simulated", "typed"}


def test_a_pan_that_must_be_emptied_is_not_called_a_kept_value(bench: Bench) -> None:
    # the scale comes back with something on it: nothing was taken, so nothing is kept
    want = what_is_wanted(
        state=bench.desk.view().job,
        review=bench.desk.view().review,
        step=Step.WEIGH,
        aim=PISTON_1,
        throw=None,
        phase=Phase.CLEAR_PAN,
        proposal=None,
        question=None,
    )
    assert want.doing is Doing.EMPTY
    said = instruction_for(want, state=bench.desk.view().job, step=Step.WEIGH, scale_words="")
    assert said.headline == "Empty the pan"
    assert "kept" not in said.detail

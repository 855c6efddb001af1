"""Runs with the bobweight set turned, and runs with a known mass, at the desk."""

from __future__ import annotations

import pytest
from a_bench import Bench
from test_spin_desk import disc

from bench.computation.unbalance import PlaneVerdict
from bench.models.tooling import rotors_own, tooling_parts
from bench.use_cases import commands as c
from bench.use_cases.propose_cuts import answer_so_far
from bench.use_cases.view import CutLine, Tone


@pytest.fixture
def bench() -> Bench:
    bench = Bench(disc())
    bench.desk.handle(c.CreateJob(bench.spec))
    return bench


def turned(bench: Bench) -> None:
    # rotor 3 g at 30 and 2 g at 200 degrees; the set 1 g at 30 and 0.5 g at 200, then on the opposite side
    bench.run(("front", "4.0", 30.0), ("rear", "2.5", 200.0))
    bench.run(("front", "2.0", 30.0), ("rear", "1.5", 200.0))
    bench.desk.handle(c.MarkIndexRun(180.0))


def test_turning_the_set_parts_rotor_from_set(bench: Bench) -> None:
    turned(bench)
    assert "rotor 3.00 g at 30°, bobweight set 1.00 g at 30°" in bench.words
    state = bench.scribe.state
    assert state is not None
    assert [spin.number for spin in state.spins] == [1]
    own = {p.plane: (round(p.amount_g, 6), round(p.angle_deg, 6)) for p in rotors_own(state, state.spins[-1])}
    assert own == {"front": (3.0, 30.0), "rear": (2.0, 200.0)}
    view = bench.desk.view()
    assert view.review is not None
    assert [round(line.amount_g or 0.0, 6) for line in view.review.planes] == [3.0, 2.0]
    assert "set's part taken off" in view.review.planes[0].words
    assert view.proposal is not None
    assert any("told apart in run 1" in words for words in view.proposal.answer)
    # the model that plans the cuts works on the rotor's own part
    model, _ = answer_so_far(state)
    assert abs(complex(model.left[0])) == pytest.approx(3.0)


def test_the_set_goes_on_being_taken_off_later_runs(bench: Bench) -> None:
    turned(bench)
    bench.desk.handle(c.RecordCuts((CutLine("front", 30.0, 2.9), CutLine("rear", 200.0, 1.9))))
    # what is left of the rotor is 0.1 g in each plane; the machine shows the set with it
    bench.run(("front", "1.1", 30.0), ("rear", "0.6", 200.0))
    view = bench.desk.view()
    assert view.review is not None
    assert view.review.whole_verdict is PlaneVerdict.INSIDE
    state = bench.scribe.state
    assert state is not None
    assert state.spins[-1].number == 3
    assert [s.number for s in state.runs_taken] == [1, 2, 3]


def test_an_index_run_can_be_taken_back_and_its_text_is_not_taken_twice(bench: Bench) -> None:
    turned(bench)
    state = bench.scribe.state
    assert state is not None
    assert tooling_parts(state)
    bench.desk.handle(c.TakeBack())
    state = bench.scribe.state
    assert state is not None
    assert not tooling_parts(state)
    assert [spin.number for spin in state.spins] == [1]


def test_what_the_run_is_compared_with_is_gone_and_the_index_run_with_it(bench: Bench) -> None:
    turned(bench)
    bench.desk.handle(c.TakeBack())
    bench.desk.handle(c.TakeBack())
    state = bench.scribe.state
    assert state is not None
    assert not state.runs_taken


@pytest.mark.parametrize(("turn", "word"), [(0.0, "best 180"), (360.0, "best 180"), (float("nan"), "best 180")])
def test_a_turn_that_tells_nothing_is_refused(bench: Bench, turn: float, word: str) -> None:
    bench.run(("front", "4.0", 30.0), ("rear", "2.5", 200.0))
    bench.run(("front", "2.0", 30.0), ("rear", "1.5", 200.0))
    bench.desk.handle(c.MarkIndexRun(turn))
    assert word in bench.words
    assert bench.said[-1].tone is Tone.REFUSE
    assert bench.scribe.state is not None
    assert len(bench.scribe.state.spins) == 2


def test_one_run_or_a_cut_between_is_refused(bench: Bench) -> None:
    bench.run(("front", "4.0", 30.0), ("rear", "2.5", 200.0))
    bench.desk.handle(c.MarkIndexRun(180.0))
    assert "spin once more" in bench.words.lower()
    bench.desk.handle(c.RecordCuts((CutLine("front", 30.0, 1.0),)))
    bench.run(("front", "2.0", 30.0), ("rear", "1.5", 200.0))
    bench.desk.handle(c.MarkIndexRun(180.0))
    assert "metal was cut" in bench.words


def test_a_known_mass_shows_that_the_profile_is_right(bench: Bench) -> None:
    bench.run(("front", "3.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "8.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "5.831", 59.036), ("rear", "1.0", 90.0))
    bench.desk.handle(c.CheckMachine("front", 5.0, (0.0, 90.0)))
    assert "the profile is right" in bench.words
    state = bench.scribe.state
    assert state is not None
    assert [spin.number for spin in state.spins] == [1]
    assert state.angles_proved[-1].agrees
    view = bench.desk.view()
    assert view.review is not None
    assert view.review.planes[0].amount_g == pytest.approx(3.0)
    assert view.proposal is not None
    assert any("checked with 5 g at the front" in words for words in view.proposal.answer)


def test_a_known_mass_shows_angles_that_run_the_other_way(bench: Bench) -> None:
    bench.run(("front", "0.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "5.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "5.0", 270.0), ("rear", "1.0", 90.0))
    bench.desk.handle(c.CheckMachine("front", 5.0, (0.0, 90.0)))
    assert "the other way round" in bench.words
    assert bench.scribe.state is not None
    assert not bench.scribe.state.angles_proved[-1].agrees


def test_a_check_without_its_runs_is_refused(bench: Bench) -> None:
    bench.run(("front", "3.0", 0.0), ("rear", "1.0", 90.0))
    bench.desk.handle(c.CheckMachine("front", 5.0, (0.0, 90.0)))
    assert "1 runs for 2 angles" in bench.words
    bench.desk.handle(c.CheckMachine("middle", 5.0, (0.0, 90.0)))
    assert "plane 'middle'" in bench.words
    bench.run(("front", "8.0", 0.0), ("rear", "1.0", 90.0))
    bench.run(("front", "8.0", 0.0), ("rear", "1.0", 90.0))
    bench.desk.handle(c.CheckMachine("front", 5.0, (0.0, 180.0)))
    assert "not opposite" in bench.words
    assert bench.scribe.state is not None
    assert len(bench.scribe.state.spins) == 3

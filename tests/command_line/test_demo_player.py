from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

from bench.command_line.demo_command import USUAL_SEED, kept_seed, kept_words
from bench.command_line.demo_player import DemoPlayer
from bench.command_line.places import Places
from bench.models.job import Cell
from bench.use_cases import commands as c
from bench.use_cases.view import BenchView, CutLine, Doing, Proposal, Question, Step, Want


def view(want: Want, **changes: Any) -> BenchView:
    job = cast("Any", SimpleNamespace(spins=(), cuts=(), certificates=(), **changes.pop("job", {})))
    return replace(BenchView(job=job, want=want), **changes)


def test_it_tells_what_is_wanted_once() -> None:
    player = DemoPlayer(hands_off=True)
    lay = view(Want(Doing.LAY, cell=Cell(kind="piston", place=3)))
    assert player.moves(lay).tell == ({"lay": {"kind": "piston", "place": 3}},)
    assert player.moves(lay).tell == ()
    assert player.moves(view(Want(Doing.LIFT))).tell == ({"taken": {}},)
    assert player.moves(lay).tell != ()
    make = view(Want(Doing.MAKE, throw=2, target_g=2317.8))
    assert player.moves(make).tell == ({"make": {"throw": 2, "target_g": 2317.8}},)
    assert player.moves(view(Want(Doing.SPIN, run=1))).tell == ({"spin": {"run": 1}},)
    assert player.moves(view(Want())).tell == ()
    assert DemoPlayer(hands_off=True).moves(BenchView()).tell == ()


def test_who_is_asked_for_an_empty_pan_lifts_waits_and_lays_again() -> None:
    player = DemoPlayer(hands_off=False)
    lay = view(Want(Doing.LAY, cell=Cell(kind="piston", place=3)))
    assert len(player.moves(lay).tell) == 1
    (lift,) = player.moves(view(Want(Doing.EMPTY))).tell
    assert lift["lift"]["empty_s"] > 3.0
    assert player.moves(lay).tell == ({"lay": {"kind": "piston", "place": 3}},)


def test_a_person_confirms_what_hands_off_confirms_by_itself() -> None:
    proposal = Proposal((CutLine("front", 30.0, 4.0),), "why")
    cut = view(Want(Doing.CUT), proposal=proposal)
    alone = DemoPlayer(hands_off=True)
    assert alone.moves(cut).ask == ()
    assert alone.did({"did": {"spin": {"run": 1}}}).ask == ()
    # recorded only when it is really drilled
    assert alone.did({"did": {"cut": {}}}).ask == (c.RecordCuts(proposal.cuts),)
    assert alone.did({"did": {"cut": {}}}).ask == ()
    by_hand = DemoPlayer(hands_off=False).moves(cut)
    assert by_hand.ask == ()
    assert by_hand.tell[0]["cut"]["grams"] == 4.0
    question = Question("same again?", (("take", ""), ("again", "")))
    asked = view(Want(Doing.ANSWER), question=question)
    assert DemoPlayer(hands_off=True).moves(asked).ask == (c.Answer("again"),)
    assert DemoPlayer(hands_off=False).moves(asked).ask == ()
    cleared = view(Want(Doing.ANSWER), question=Question("?", (("clear", ""),)))
    assert DemoPlayer(hands_off=True).moves(cleared).ask == (c.Answer("clear"),)


def test_the_end() -> None:
    player = DemoPlayer(hands_off=True)
    assert isinstance(player.moves(view(Want(Doing.SIGN_OFF))).ask[0], c.SignOff)
    done = view(Want(), shown_step=Step.DONE)
    assert player.moves(done).ask == ()  # asked for with the sign-off, once
    assert DemoPlayer(hands_off=True).moves(done).ask == (c.MakeCertificate(),)
    assert player.moves(replace(done, certificate_path="/x")).finished


def test_leaving_the_demo_says_how_its_record_is_reached_again(tmp_path: Path) -> None:
    words = " ".join(kept_words(Places(tmp_path).demo))
    assert str(tmp_path / "demo") in words
    assert "spinledger demo --resume" in words


def test_a_demo_that_goes_on_keeps_its_crank(tmp_path: Path) -> None:
    state = tmp_path / "shop.json"
    assert kept_seed(state) == USUAL_SEED
    state.write_text('{"version": 1, "world": "v8", "seed": 3}', encoding="utf-8")
    assert kept_seed(state) == 3
    state.write_text('{"version": 1, "wor', encoding="utf-8")
    assert kept_seed(state) == USUAL_SEED

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from listening_desk import HOSTILE, ListeningDesk, frame, settle, some_state, view_of, weighing
from textual.widgets import Input

from bench.capture.pedal import BOUNCE_S, CONFIRM_S
from bench.models.job import Cell
from bench.screens.app import BenchApp
from bench.screens.big_text import BigText
from bench.screens.frame_lines import where_line
from bench.screens.glyphs import GLYPH_SETS
from bench.screens.number_band import bobweight_reading
from bench.use_cases import commands as c
from bench.use_cases.view import (
    BenchView,
    CutLine,
    Doing,
    InstrumentLine,
    LiveLine,
    Notice,
    Question,
    Step,
    Tone,
    TrailLine,
    Want,
)

SIZES = ((80, 24), (120, 40))


@pytest.mark.parametrize("size", SIZES)
async def test_weighing_shows_part_number_and_sheet(size: tuple[int, int]) -> None:
    app = BenchApp(ListeningDesk(weighing()), tone_player=lambda _: None)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        rows = frame(app)
        text = "\n".join(rows)
        assert app.screen.query_one("#headline", BigText).text == "Lay piston 3 of 8"
        assert "SIMULATED" in rows[0]
        assert "weigh" in rows[0]
        assert "►○" in text
        assert "bearing shells" in text
        assert "taken: piston 2, 586.4 g" in text
        digits = [row for row in rows if "█" in row or "▀▀" in row]
        # readable from 3 m: at least 11 % of the rows
        assert len(digits) >= 0.11 * size[1]
        assert len(rows) == size[1]


async def test_the_smallest_screen_still_shows_number_part_and_word() -> None:
    app = BenchApp(ListeningDesk(weighing()), tone_player=lambda _: None)
    async with app.run_test(size=(40, 10)) as pilot:
        await settle(pilot)
        text = "\n".join(frame(app))
        assert "Lay piston 3 of 8" in text
        assert "█" in text
        assert "taken: piston 2" in text


@pytest.mark.parametrize("size", SIZES)
async def test_bobweights_say_add_or_take_off(size: tuple[int, int]) -> None:
    want = Want(Doing.MAKE, throw=1, target_g=2000.0)
    view = view_of(some_state(), Step.BOBWEIGHTS, want, live=LiveLine("1990.0", "g", "settling", 12.4))
    app = BenchApp(ListeningDesk(view), tone_player=lambda _: None)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        text = "\n".join(frame(app))
        reading = bobweight_reading(view)
        assert (reading.digits, reading.verdict.word) == ("12.4", "add")
        assert "scale shows 1990.0 g" in text
        assert "to be made" in text
        assert "bobweight" in text


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("runs", [0, 1, 3])
async def test_spins_are_drawn_with_verdicts_and_the_next_cut(size: tuple[int, int], runs: int) -> None:
    view = view_of(some_state(runs=runs), Step.SPIN, Want(Doing.CUT if runs else Doing.SPIN, run=1))
    app = BenchApp(ListeningDesk(view), tone_player=lambda _: None)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        text = "\n".join(frame(app))
        if runs:
            assert "front  ▲ OUTSIDE" in text
            assert "▼" in text
            assert "cut 1 of" in text
            assert "take off" in text
            assert f"{runs}" in text
        else:
            assert app.screen.query_one("#headline", BigText).text == "Spin: run 1"
            assert "Guard closed" in text


@pytest.mark.parametrize("step", [Step.WEIGH, Step.BOBWEIGHTS, Step.SPIN, Step.SIGN_OFF, Step.DONE])
async def test_text_from_outside_is_shown_and_never_obeyed(step: Step) -> None:
    state = some_state(title=HOSTILE[:40])
    view = view_of(
        state,
        step,
        Want(),
        notice=Notice(1, HOSTILE, Tone.NONE, "info"),
        question=Question(HOSTILE, (("take", HOSTILE),)),
        trail=(TrailLine(1, "2031-03-01T08:00:00Z", "mk", "auto", HOSTILE, (HOSTILE,)),),
        live=LiveLine(HOSTILE, "g", HOSTILE),
    )
    app = BenchApp(ListeningDesk(view), tone_player=lambda _: None)
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        for key in ("t", "r"):
            await pilot.press(key)
            await settle(pilot)
            text = "\n".join(frame(app))
            assert "\x1b" not in text
            assert "\x07" not in text
            assert "\u202e" not in text
            assert "[red]" in text


async def test_keys_become_commands() -> None:
    question = Question("same again?", (("take", "take it"), ("again", "weigh it again")))
    desk = ListeningDesk(weighing())
    app = BenchApp(desk, first_job="2031-0001", tone_player=lambda _: None)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.press("pageup", "k", "2", "j")
        desk.show(weighing(question=question))
        await settle(pilot)
        assert "2  weigh it again" in "\n".join(frame(app))
        await pilot.press("pagedown", "2", "3")
        desk.show(view_of(some_state(runs=1), Step.SPIN, Want(Doing.CUT)))
        await settle(pilot)
        await pilot.press("pagedown")
        await settle(pilot)
        assert "Once more records it" in "\n".join(frame(app))
        # a confirmation must come later than the repeats of a key that is held down begin
        await pilot.pause(CONFIRM_S)
        await pilot.press("pagedown")
        desk.show(view_of(some_state(runs=1), Step.DONE, Want()))
        await settle(pilot)
        await pilot.press("pagedown", "d")
        assert app.theme == "chalk"
    kinds = [type(command).__name__ for command in desk.asked]
    assert kinds == [
        "ChooseJob",
        "TakeBack",
        "Skip",
        "ShowStep",
        "LeaveJob",
        "Answer",
        "Answer",
        "RecordCuts",
        "MakeCertificate",
    ]
    assert desk.asked[5:7] == [c.Answer("take"), c.Answer("again")]


async def fill(pilot: Any, app: BenchApp, **answers: str) -> None:
    await settle(pilot)
    for name, text in answers.items():
        app.screen.query_one(f"#field-{name}", Input).value = text
    app.screen.query_one("#do").focus()
    await pilot.press("enter")
    await settle(pilot)


async def test_dialogs_ask_check_and_give_commands() -> None:
    desk = ListeningDesk(weighing())
    app = BenchApp(desk, tone_player=lambda _: None)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("e")
        await fill(pilot, app, grams="1,234", reason="x")
        assert "can be read as" in str(app.screen.query_one("#complaint").render())
        await fill(pilot, app, grams="abc")
        await fill(pilot, app, grams="586,4", reason="")
        assert desk.asked == []
        await fill(pilot, app, reason="scale is away")
        await pilot.press("g")
        await fill(pilot, app, cell="nothing")
        await fill(pilot, app, cell="piston 5")
        await pilot.press("w")
        await fill(pilot, app, text="a note")
        await pilot.press("i", "m", "k", "enter")
        await settle(pilot)
        await pilot.press("x")
        await fill(pilot, app, **{"cut-0": "side 30 4"})
        assert "begins with no place" in str(app.screen.query_one("#complaint").render())
        await fill(pilot, app, **{"cut-0": "front 30 4 g 12x20"})
        await pilot.press("o")
        await settle(pilot)
        for _ in range(3):
            await pilot.press("pagedown")
            await pilot.pause(1.5 * BOUNCE_S)
        await settle(pilot)
        await pilot.press("e", "escape")
        await pilot.press("g", "pageup")
        await settle(pilot)
        desk.show(view_of(some_state(runs=1), Step.SPIN, Want(Doing.SPIN, run=2)))
        await settle(pilot)
        await pilot.press("e")
        answers = {"front-grams": "1", "front-angle": "2", "rear-grams": "3", "rear-angle": "4", "reason": ""}
        await fill(pilot, app, **answers)
        await fill(pilot, app, reason="no printer")
    typed, gone, note, initials, cut, off, run = desk.asked
    assert typed == c.TypeWeight(Cell(kind="piston", place=3), typed.grams, "scale is away")
    assert str(typed.grams) == "586.4"
    assert gone == c.GoTo(Cell(kind="piston", place=5))
    assert note == c.WriteNote("a note")
    assert initials == c.SetInitials("mk")
    assert cut.cuts == (CutLine("front", 30.0, 4.0, diameter_mm=12.0, depth_mm=20.0),)
    assert off.deburred
    assert off.cleaned
    assert run.planes[1][0] == "rear"


async def test_jobs_help_trail_filter_and_instruments() -> None:
    start = weighing()
    desk = ListeningDesk(replace(start, job=None, review=None, shown_step=Step.INTAKE))
    tones: list[Tone] = []
    app = BenchApp(desk, tone_player=tones.append)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        assert "2031-0001" in "\n".join(frame(app))
        await pilot.press("enter")
        await settle(pilot)
        assert desk.asked == [c.ChooseJob("2031-0001")]
        await pilot.press("f1")
        await settle(pilot)
        assert "PageDown says yes to what is due" in "\n".join(frame(app))
        await pilot.press("escape")
        wrong = InstrumentLine("scale", "lost", "gone", "look at the plug")
        desk.show(replace(start, instruments=(wrong,), notice=Notice(2, "no", Tone.REFUSE, "bad")))
        await settle(pilot)
        assert "scale lost: gone. look at the plug" in "\n".join(frame(app))
        await pilot.press("t")
        await settle(pilot)
        app.screen.query_one("#trail-filter", Input).value = "zzz"
        await settle(pilot)
        assert "Nothing with 'zzz' in it" in "\n".join(frame(app))
        desk.show(replace(start, read_only="open elsewhere", instruments=()))
        await settle(pilot)
        assert "looking only: open elsewhere" in "\n".join(frame(app))
    assert tones == [Tone.ACCEPT, Tone.REFUSE]


async def test_no_color_takes_the_colourless_theme(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = BenchApp(ListeningDesk(weighing()))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert app.theme == "mono"
        text = "\n".join(frame(app))
        assert app.screen.query_one("#headline", BigText).text == "Lay piston 3 of 8"
        assert "● taken: piston 2" in text


@pytest.mark.parametrize("columns", [80, 100, 120])
@pytest.mark.parametrize("step", [Step.WEIGH, Step.BOBWEIGHTS, Step.SPIN, Step.SIGN_OFF])
def test_the_title_of_the_job_stays_whole_and_the_step_keeps_its_word(columns: int, step: Step) -> None:
    view = view_of(some_state(title="Rescue boat, port engine"), step, Want(), by="DEMO")
    words = where_line(view, columns=columns, glyphs=GLYPH_SETS["quadrant"]).plain
    assert "Rescue boat, port engine" in words
    assert f"{step.value}" in words
    assert all(f"{number}" in words for number in range(1, 5))
    assert len(words) <= columns


@pytest.mark.parametrize(("size", "lines"), [((80, 24), 2), ((120, 40), 2), ((40, 10), 1)])
async def test_a_long_sentence_takes_a_second_line_where_there_is_room(size: tuple[int, int], lines: int) -> None:
    words = " ".join(["run 4 taken: front 0.66 g at 207.9 degrees, limit 1.00 g: inside;"] * 2) + " end"
    app = BenchApp(ListeningDesk(weighing(notice=Notice(1, words, Tone.NONE, "info"))), tone_player=lambda _: None)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        text = frame(app)
        assert app.query_one("#notice").size.height == lines
        assert ("end" in text[-2]) == (lines == 2)


async def test_the_greeting_stands_until_the_desk_speaks() -> None:
    desk = ListeningDesk(BenchView())
    app = BenchApp(desk, tone_player=lambda _: None)
    app.greeting = "kept apart from your jobs"
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "kept apart from your jobs" in "\n".join(frame(app))
        desk.show(BenchView(notice=Notice(1, "something new", Tone.NONE, "info")))
        await settle(pilot)
        assert "kept apart" not in "\n".join(frame(app))


@pytest.mark.parametrize(
    ("typed", "cell"),
    [
        ("piston 3", "piston 3"),
        ("Whole Rod 5", "rod_whole 5"),
        ("rod_whole 5", "rod_whole 5"),
        ("whole 5", "rod_whole 5"),
        ("rod small end  8", "rod_small_end 8"),
        ("bearing shells of throw 2", "rod_bearings 2"),
        ("bearing 2", "rod_bearings 2"),
    ],
)
async def test_a_part_is_named_as_the_sheet_names_it(typed: str, cell: str) -> None:
    desk = ListeningDesk(weighing())
    app = BenchApp(desk, tone_player=lambda _: None)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.press("g")
        await settle(pilot)
        app.screen.query_one("#field-cell", Input).value = typed
        await pilot.press("enter")
        await settle(pilot)
    assert [str(command.cell) for command in desk.asked if isinstance(command, c.GoTo)] == [cell]


@pytest.mark.parametrize("typed", ["piston", "3", "p 3", "p 3 4", "pis ton 3", "piston 3.5", ""])
async def test_what_names_no_part_is_said_beside_the_field(typed: str) -> None:
    desk = ListeningDesk(weighing())
    app = BenchApp(desk, tone_player=lambda _: None)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.press("g")
        await settle(pilot)
        app.screen.query_one("#field-cell", Input).value = typed
        await pilot.press("enter")
        await settle(pilot)
        shown = "\n".join(frame(app))
    assert desk.asked == []
    assert f"'{typed}' is no part of this job; wanted e.g. piston 3" in shown


async def test_escape_leaves_the_trail_and_long_words_go_on_below_themselves() -> None:
    words = "run 2: front 29.13 g at 198.0 degrees; rear 29.59 g at 20.1 degrees, by the machine's own text"
    line = TrailLine(62, "2031-03-01T08:00:00Z", "mk", "simulated", words)
    app = BenchApp(ListeningDesk(weighing(trail=(line,))), tone_player=lambda _: None)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("t")
        await settle(pilot)
        rows = frame(app)
        first = next(i for i, row in enumerate(rows) if "run 2: front" in row)
        assert rows[first + 1].lstrip("▌").startswith(" " * 27)
        assert rows[first + 2].rstrip("▐ ").endswith("text")
        await pilot.press("escape")
        await settle(pilot)
        assert app.panel_id == "panel-weigh"

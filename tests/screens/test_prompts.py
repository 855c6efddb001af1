"""What the ear is given beside the screen: the bell where no tone can be played, and the words that are due."""

from __future__ import annotations

from listening_desk import ListeningDesk, settle, some_state, view_of, weighing

from bench.models.job import Cell
from bench.screens.app import BenchApp
from bench.screens.prompts import SpokenPrompts
from bench.use_cases.view import BenchView, Doing, Notice, Question, Step, Tone, Want


async def test_where_a_tone_cannot_be_played_the_bell_rings_its_pattern() -> None:
    for tone, strokes in ((Tone.ACCEPT, 1), (Tone.ATTENTION, 2), (Tone.REFUSE, 3)):
        desk, rung = ListeningDesk(weighing(notice=None)), []
        app = BenchApp(desk, tone_player=lambda _: False)
        app.bell = lambda rung=rung: rung.append(1)  # type: ignore[method-assign]
        async with app.run_test(size=(80, 24)) as pilot:
            desk.show(weighing(notice=Notice(7, "something", tone, "info")))
            await settle(pilot)
            await pilot.pause(0.7)
        assert len(rung) == strokes, tone


def test_the_instruction_is_spoken_once_and_a_question_before_it() -> None:
    spoken: list[str] = []
    prompts = SpokenPrompts(spoken.append)
    prompts.hear(BenchView())
    assert spoken == []
    for view in (weighing(), weighing(), weighing(question=Question("the same part?", (("take", "take it"),)))):
        prompts.hear(view)
    prompts.hear(view_of(some_state(cells=2), Step.WEIGH, Want(Doing.LAY, cell=Cell(kind="piston", place=4))))
    assert spoken == ["Lay piston 3 of 8", "the same part?", "Lay piston 4 of 8"]


async def test_the_dashboard_speaks_what_it_shows() -> None:
    spoken: list[str] = []
    app = BenchApp(ListeningDesk(weighing()), tone_player=lambda _: None)
    app.prompts = SpokenPrompts(spoken.append)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
    assert spoken == ["Lay piston 3 of 8"]

"""Every action by key, by mouse and from the list of everything: one table, three ways, the same doing."""

from __future__ import annotations

from typing import Any

import pytest
from a_shop import AShop
from listening_desk import ListeningDesk, frame, settle, some_state, view_of, weighing
from textual.binding import Binding
from textual.command import CommandPalette

from bench.screens.actions import ACTS, CARDS_NEED, TERMINALS_KEEP, Act
from bench.screens.app import BenchApp
from bench.screens.everything import Everything
from bench.use_cases.view import BenchView, Doing, Question, Step, Want


def a_view_for(act: Act) -> BenchView:
    """A bench at which the action is possible."""
    cutting = view_of(some_state(runs=1), Step.SPIN, Want(Doing.CUT))
    views = (weighing(), cutting, view_of(some_state(runs=1), Step.DONE, Want()), BenchView())
    return next(view for view in views if not act.why(view))


def watched(act: Act) -> tuple[BenchApp, list[str]]:
    """The dashboard, with the action's doing written down instead of done."""
    view = a_view_for(act)
    app = BenchApp(ListeningDesk(view), tone_player=lambda _: None, shop=AShop())
    done: list[str] = []
    name = "do_number" if act.steps_number else f"do_{act.method}"
    setattr(app, name, lambda *_: done.append(act.id))
    return app, done


@pytest.mark.long
@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.id)
async def test_each_key_does_it(act: Act) -> None:
    app, done = watched(act)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        for count, key in enumerate(act.key.split(","), 1):
            if act.id == "bench.everything":
                # the library opens its list itself
                await pilot.press(key)
                await settle(pilot)
                assert isinstance(app.screen, CommandPalette)
                return
            await pilot.press(key)
            await settle(pilot)
            await pilot.pause(0.25)
            assert done == [act.id] * count, key


@pytest.mark.long
@pytest.mark.parametrize("act", [act for act in ACTS if act.id != "bench.everything"], ids=lambda act: act.id)
async def test_the_list_of_everything_does_it(act: Act) -> None:
    app, done = watched(act)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        hits = [hit async for hit in Everything(app.screen).discover()]
        (hit,) = [hit for hit in hits if act.words in str(hit.text)]
        hit.command()
        await settle(pilot)
    assert done == [act.id]


async def test_the_list_is_opened_by_the_mouse_and_a_click_in_it_does_it() -> None:
    act = next(act for act in ACTS if act.id == "bench.note")
    app, done = watched(act)
    async with app.run_test(size=(100, 40)) as pilot:
        await settle(pilot)
        rows = frame(app)
        await pilot.click(offset=(rows[-1].index("everything") + 1, len(rows) - 1))
        await settle(pilot)
        assert isinstance(app.screen, CommandPalette)
        await pilot.press(*"note into")
        await pilot.pause(0.6)
        row = next(i for i, text in enumerate(frame(app)) if act.words in text)
        await pilot.click(offset=(12, row))
        await settle(pilot)
    assert done == [act.id]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_line_of_hints_always_leads_to_help_and_to_everything(size: tuple[int, int]) -> None:
    views = [weighing(), BenchView(), view_of(some_state(runs=1), Step.SPIN, Want(Doing.CUT))]
    views += [view_of(some_state(runs=1), step, Want()) for step in (Step.BOBWEIGHTS, Step.SIGN_OFF, Step.DONE)]
    for view in views:
        app = BenchApp(ListeningDesk(view), tone_player=lambda _: None)
        async with app.run_test(size=size) as pilot:
            await settle(pilot)
            last = frame(app)[-1]
            assert "F1 help" in last
            assert "F2 everything" in last


@pytest.mark.parametrize("number", [1, 2])
async def test_an_answer_of_a_question_can_be_clicked(number: int) -> None:
    question = Question("same again?", (("take", "take it"), ("again", "weigh it again")))
    desk = ListeningDesk(weighing(question=question))
    app = BenchApp(desk, tone_player=lambda _: None)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        rows = frame(app)
        row = next(i for i, text in enumerate(rows) if "weigh it again" in text)
        await pilot.click(offset=(rows[row].index(question.choices[number - 1][1]) + 1, row))
        await settle(pilot)
    (command,) = desk.asked
    assert command.choice == question.choices[number - 1][0]  # type: ignore[union-attr]


def test_no_card_takes_a_key_that_terminals_keep() -> None:
    from importlib import import_module
    from pkgutil import iter_modules

    from textual.screen import ModalScreen

    import bench.screens

    cards: list[type[Any]] = []
    for module in iter_modules(bench.screens.__path__):
        values = vars(import_module(f"bench.screens.{module.name}")).values()
        types = [value for value in values if isinstance(value, type) and value.__module__.startswith("bench.")]
        cards += [value for value in types if issubclass(value, ModalScreen)]
    assert len(set(cards)) >= 7
    for card in set(cards):
        for binding in card.__dict__.get("BINDINGS", ()):
            assert isinstance(binding, Binding), card
            assert binding.id, (card, binding.key)
            keys = set(binding.key.split(","))
            assert not keys & TERMINALS_KEEP, card
        bound = [b for each in card.__mro__ for b in each.__dict__.get("BINDINGS", ()) if isinstance(b, Binding)]
        leaving = {key for b in bound for key in b.key.split(",")}
        # the pedal's card listens to every key itself
        assert "escape" in leaving or card.__name__ == "PedalScreen", card
    assert not {key for act in ACTS for key in act.key.split(",")} & (TERMINALS_KEEP | CARDS_NEED)

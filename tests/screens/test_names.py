"""Who is at the bench: a bar of names, typed initials, asked once and kept."""

from __future__ import annotations

from typing import Any

import pytest
from a_shop import AShop
from listening_desk import HOSTILE, ListeningDesk, frame, settle, weighing
from textual.widgets import Input

from bench.screens.app import BenchApp
from bench.screens.names_screen import NamesScreen
from bench.use_cases import commands as c
from bench.use_cases.view import BenchView


def a_bench(view: BenchView, *names: str) -> tuple[BenchApp, ListeningDesk, AShop]:
    desk, shop = ListeningDesk(view), AShop()
    shop.names = names
    return BenchApp(desk, tone_player=lambda _: None, shop=shop), desk, shop


def listed(**changes: Any) -> BenchView:
    return BenchView(jobs=weighing().jobs, **changes)


async def test_a_key_of_the_bar_names_who_is_there_and_keeps_it() -> None:
    app, desk, shop = a_bench(listed(by="mk"), "mk", "jo", "an")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        (bar,) = [row for row in frame(app) if "at the bench:" in row]
        assert "1 mk" in bar
        assert "3 an" in bar
        await pilot.press("2")
        await settle(pilot)
        assert desk.asked == [c.SetInitials("jo")]
        assert shop.kept == {("by",): "jo"}
        await pilot.press("7")
        await settle(pilot)
        assert len(desk.asked) == 1
        assert any("no name 7" in row for row in frame(app))


async def test_while_a_job_is_shown_numbers_are_its_steps() -> None:
    app, desk, _ = a_bench(weighing(), "mk", "jo", "an")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("3")
        await settle(pilot)
        assert [type(command).__name__ for command in desk.asked] == ["ShowStep"]


@pytest.mark.parametrize(("keys", "by", "kept"), [
    (("2",), "jo", {("by",): "jo"}),
    (("a", "n", "enter"), "an", {("by",): "an", ("names",): "mk jo an"}),
    (("tab", "2"), "jo", {("by",): "jo"}),
])  # fmt: skip
async def test_the_card_takes_a_key_or_letters(keys: tuple[str, ...], by: str, kept: dict[Any, str]) -> None:
    app, desk, shop = a_bench(weighing(simulated=False), "mk", "jo")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("i")
        await settle(pilot)
        await pilot.press("9")
        await settle(pilot)
        assert any("no name 9" in row for row in frame(app))
        await pilot.press(*keys)
        await settle(pilot)
        assert desk.asked == [c.SetInitials(by)]
        assert shop.kept == kept
        assert len(app.screen_stack) == 1


async def test_the_first_entry_asks_who_and_goes_on_with_the_answer_or_without() -> None:
    for keys, asked in (
        (("j", "o", "enter"), [c.SetInitials("jo"), c.WriteNote("n")]),
        (("escape",), [c.WriteNote("n")]),
    ):
        app, desk, _ = a_bench(listed())
        async with app.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            app.ask_desk(c.WriteNote("n"))
            await settle(pilot)
            assert isinstance(app.screen, NamesScreen)
            assert desk.asked == []
            await pilot.press("enter")  # nothing typed is no name
            await settle(pilot)
            assert any("no initials" in row for row in frame(app))
            await pilot.press(*keys)
            await settle(pilot)
            assert desk.asked == asked
            app.ask_desk(c.Skip())
            await settle(pilot)
            assert desk.asked == [*asked, c.Skip()], "it is asked once"


async def test_a_job_that_is_opened_asks_before_the_scale_can_take_anything() -> None:
    app, desk, shop = a_bench(listed(), "mk", "jo")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert len(app.screen_stack) == 1, "looking at the list asks nobody"
        desk.show(weighing(by="", simulated=False))
        await settle(pilot)
        assert isinstance(app.screen, NamesScreen)
        await pilot.press("1")
        await settle(pilot)
    assert desk.asked == [c.SetInitials("mk")]
    assert shop.kept == {("by",): "mk"}


async def test_nobody_is_asked_where_nothing_can_be_recorded() -> None:
    app, desk, _ = a_bench(weighing(by="", read_only="open elsewhere"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert len(app.screen_stack) == 1
        assert desk.asked == []


async def test_the_simulated_benchs_people_are_not_kept_and_trouble_is_told() -> None:
    app, _, shop = a_bench(weighing(simulated=True), "mk")
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("i", "1")
        await settle(pilot)
        assert shop.kept == {}
    app, desk, shop = a_bench(listed(), "mk")
    shop.trouble = "the settings cannot be written"
    async with app.run_test(size=(100, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1")
        await settle(pilot)
        assert desk.asked == [c.SetInitials("mk")]
        assert any("cannot be written" in row for row in frame(app))


async def test_names_from_a_file_are_shown_and_never_obeyed() -> None:
    app, _, _ = a_bench(listed(), HOSTILE, "jo")
    async with app.run_test(size=(120, 24)) as pilot:
        await settle(pilot)
        assert "\x1b" not in "".join(frame(app))
        await pilot.press("i")
        await settle(pilot)
        assert "\x1b" not in "".join(frame(app))
        assert app.screen.query_one(Input).max_length == 12

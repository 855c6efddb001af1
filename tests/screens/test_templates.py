"""Templates of the shop at the dashboard: kept with +, begun with n, replaced only on a second Enter."""

from __future__ import annotations

import pytest
from a_shop import AShop
from listening_desk import HOSTILE, ListeningDesk, frame, settle, weighing
from textual.widgets import Input

from bench.screens.app import BenchApp
from bench.use_cases import commands as c
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.job_templates import template_of
from bench.use_cases.view import BenchView


async def test_plus_keeps_the_open_jobs_intake_under_a_name() -> None:
    shop = AShop()
    app = BenchApp(ListeningDesk(weighing()), tone_player=lambda _: None, shop=shop)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.press("plus")
        await settle(pilot)
        app.screen.query_one(Input).value = "harbour V8"
        await pilot.press("enter")
        await settle(pilot)
        assert "template kept: harbour V8" in "\n".join(frame(app))
        (kept,) = shop.kept_templates
        assert (kept.name, kept.spec.serial) == ("harbour V8", "")
        assert kept.spec.layout == demo_spec().layout
        # the same name again: asked about once
        await pilot.press("plus")
        await settle(pilot)
        app.screen.query_one(Input).value = "Harbour V8"
        await pilot.press("enter")
        await settle(pilot)
        assert "Enter again replaces it" in "\n".join(frame(app))
        assert len(app.screen_stack) == 2
        await pilot.press("enter")
        await settle(pilot)
        assert len(app.screen_stack) == 1
        # a name too long is never taken
        await pilot.press("plus")
        await settle(pilot)
        app.screen.query_one(Input).value = "x" * 61
        await pilot.press("enter", "enter")
        await settle(pilot)
    assert all(len(one.name) <= 60 for one in shop.kept_templates)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_job_begins_with_the_shops_template_which_stands_first(size: tuple[int, int]) -> None:
    shop = AShop()
    shop.kept_templates = [template_of("harbour V8", demo_spec())]
    desk = ListeningDesk(BenchView(by="mk"))
    app = BenchApp(desk, tone_player=lambda _: None, shop=shop)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await pilot.press("n")
        await settle(pilot)
        text = "\n".join(frame(app))
        assert "* harbour V8" in text
        assert "kinds of part" in text
        await pilot.press("enter")
        await settle(pilot)
        app.screen.query_one("#field-title", Input).value = "port engine"
        app.screen.query_one("#field-serial", Input).value = "SN-9"
        app.screen.query_one("#field-serial").focus()
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("enter")  # the numbers are right
        await settle(pilot)
    (command,) = desk.asked
    assert isinstance(command, c.CreateJob)
    assert (command.spec.title, command.spec.serial) == ("port engine", "SN-9")
    assert command.spec.kinds == demo_spec().kinds
    assert command.spec.notes == "from template harbour V8"
    assert not command.spec.simulated


async def test_a_title_too_long_is_said_beside_its_field() -> None:
    shop = AShop()
    shop.kept_templates = [template_of("harbour V8", demo_spec())]
    desk = ListeningDesk(BenchView(by="mk"))
    app = BenchApp(desk, tone_player=lambda _: None, shop=shop)
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.press("n", "enter")
        await settle(pilot)
        app.screen.query_one("#field-title", Input).value = "x" * 41
        app.screen.query_one("#field-serial").focus()
        await pilot.press("enter")
        await settle(pilot)
        assert app.focused is not None
        assert app.focused.id == "field-title"
        assert "40" in "\n".join(frame(app))
    assert desk.asked == []


async def test_a_hostile_name_is_shown_in_marks() -> None:
    shop = AShop()
    spec = demo_spec()
    shop.kept_templates = [template_of("[red]x[/red] [@click=app.quit]y", spec.model_copy(update={"title": "t"}))]
    app = BenchApp(ListeningDesk(BenchView(by=HOSTILE[:3])), tone_player=lambda _: None, shop=shop)
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await pilot.press("n")
        await settle(pilot)
        assert "* [red]x[/red] [@click=app.quit]y" in "\n".join(frame(app))

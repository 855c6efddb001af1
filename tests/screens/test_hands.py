"""Hands at the bench: scanners that type, pedals that tremble, are held down or learned."""

from __future__ import annotations

from typing import Any

import pytest
from a_shop import AShop
from listening_desk import ListeningDesk, frame, settle, some_state, until, view_of, weighing

from bench.models.job import Cell
from bench.screens import hands
from bench.screens.app import BenchApp
from bench.use_cases import commands as c
from bench.use_cases.part_code import part_code
from bench.use_cases.view import BenchView, Doing, Step, Want


def an_app(view: BenchView | None = None, **words: Any) -> tuple[BenchApp, ListeningDesk, AShop]:
    desk, shop = ListeningDesk(view or BenchView(by="mk")), words.pop("shop", None) or AShop()
    return BenchApp(desk, tone_player=lambda _: None, shop=shop, **words), desk, shop


def text_of(app: BenchApp) -> str:
    return "\n".join(frame(app))


async def test_a_scan_is_no_keys_and_keys_are_no_scan() -> None:
    app, desk, _ = an_app(weighing())
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        glyphs = app.glyphs.name
        for char in part_code(job="2031-0001", cell=Cell(kind="pin", place=3)):
            app.post_message(_key(char))
        app.post_message(_key("\r"))
        await settle(pilot)
        assert desk.asked == [c.GoTo(Cell(kind="pin", place=3))]
        assert app.glyphs.name == glyphs
        # a finger on s, then on k: both act, in order
        await pilot.press("s")
        await until(pilot, lambda: app.glyphs.name != glyphs)
        await pilot.press("k")
        await until(pilot, lambda: len(desk.asked) > 1)
        assert desk.asked[1:] == [c.Skip()]
        for char in part_code(job="2031-0009", cell=Cell(kind="pin", place=3)):
            app.post_message(_key(char))
        app.post_message(_key("\r"))
        await settle(pilot)
        assert desk.asked[2:] == [c.ChooseJob("2031-0009")]
        for char in "spinledger-part:1:zzz":
            app.post_message(_key(char))
        app.post_message(_key("\r"))
        await settle(pilot)
        assert "wanted spinledger-part" in text_of(app)


def _key(char: str) -> Any:
    from textual.events import Key

    names = {"\r": "enter", "-": "minus", ":": "colon", "_": "underscore"}
    return Key(names.get(char, char), None if char == "\r" else char)


async def test_a_pedal_held_down_confirms_nothing_and_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    monkeypatch.setattr(hands, "monotonic", lambda: now[0])
    app, desk, _ = an_app(view_of(some_state(runs=1), Step.SPIN, Want(Doing.CUT)))
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.press("pagedown")
        now[0] += 0.4
        for _ in range(35):
            now[0] += 0.03
            await pilot.press("pagedown")
        await settle(pilot)
        assert desk.asked == []
        assert len(app.screen_stack) == 2


async def test_a_learned_pedal_is_kept() -> None:
    app, _, shop = an_app(weighing())
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        await pilot.press("p")
        await settle(pilot)
        await pilot.press("f7", "f8")
        await settle(pilot)
        assert "learned and kept" in text_of(app)
        await pilot.press("d", "s")
        await settle(pilot)
        await settle(pilot)
    assert shop.kept[("keys", "bench.due")] == "f7"
    assert shop.kept[("keys", "bench.take-back")] == "f8"
    assert shop.kept[("theme",)] == "chalk"
    assert shop.kept[("glyphs",)] == "braille"

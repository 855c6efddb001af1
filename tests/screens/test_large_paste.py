"""A paste of a megabyte with line ends in it: into one field at most, cut to a length, and no key of it acts."""

from __future__ import annotations

import time

import pytest
from listening_desk import ListeningDesk, settle, weighing
from textual.events import Paste
from textual.widgets import Input

from bench.screens.app import BenchApp
from bench.screens.form_dialog import FormDialog

LINES, ONE_LINE = "q\n\x1b[2J" + "603.7\r\nq\rb\n" * 100_000, "q" * 1_000_000


@pytest.mark.parametrize("pasted", [LINES, ONE_LINE], ids=["lines", "one line"])
@pytest.mark.parametrize("keys", [(), ("e",), ("t",), ("w",), ("i",)])
async def test_a_large_paste_acts_on_nothing(keys: tuple[str, ...], pasted: str) -> None:
    desk = ListeningDesk(weighing())
    app = BenchApp(desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for key in keys:
            await pilot.press(key)
            await settle(pilot)
        before = type(app.screen)
        begun = time.monotonic()
        (app.focused or app.screen).post_message(Paste(pasted))
        await settle(pilot)
        await settle(pilot)
        assert time.monotonic() - begun < 10
        assert app.is_running
        assert type(app.screen) is before
        assert desk.asked == []
        for field in app.screen.query(Input):
            assert len(field.value) <= 2000
            assert "\n" not in field.value
            assert "\r" not in field.value
        if keys == ("e",):
            assert isinstance(app.screen, FormDialog)

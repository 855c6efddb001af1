"""The card after an end that was not clean: first, gone by one key, by the pedal, or by itself when work goes on."""

from __future__ import annotations

from dataclasses import replace

import pytest
from listening_desk import ListeningDesk, settle, weighing

from bench.screens.app import BenchApp
from bench.screens.end_card import EndCard
from bench.trail.at_work import UncleanEnd
from bench.use_cases import commands as c

END = UncleanEnd(
    41,
    "2031-03-01T08:00:00.000000Z",
    "2031-03-01 09:00:00 +01:00",
    "piston 3: 586.4 g",
    tuple(f"2031-03-01 08:5{n}:00 +01:00  2031-0001  piston {n}: 586.{n} g" for n in (1, 2, 3)),
)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (40, 10)])
@pytest.mark.parametrize("key", ["enter", "pagedown", "pageup", "escape", "space"])
async def test_one_key_goes_on_and_is_told(key: str, size: tuple[int, int]) -> None:
    desk = ListeningDesk(replace(weighing(), ended=END))
    app = BenchApp(desk)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, EndCard)
        shown = "\n".join(str(one.render()) for one in app.screen.query("Static"))
        assert "did not end the usual way" in shown
        assert "586.3 g" in shown
        assert "lay the last part again" in shown
        desk.show(replace(weighing(), ended=END, by="jo"))
        await settle(pilot)
        assert "the bench is ready: Lay piston 3 of 8" in str(app.screen.query_one("#due").render())
        await pilot.press(key)
        await settle(pilot)
        assert not isinstance(app.screen, EndCard)
        assert desk.asked == [c.SeeEnd()]
        desk.show(weighing())
        await settle(pilot)
        assert not isinstance(app.screen, EndCard)


async def test_the_next_part_that_is_taken_puts_it_away() -> None:
    desk = ListeningDesk(replace(weighing(), ended=END))
    app = BenchApp(desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, EndCard)
        desk.show(replace(weighing(), ended=None))
        await settle(pilot)
        assert not isinstance(app.screen, EndCard)


async def test_after_a_clean_end_there_is_no_card() -> None:
    desk = ListeningDesk(weighing())
    app = BenchApp(desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert not isinstance(app.screen, EndCard)
        assert desk.asked == []

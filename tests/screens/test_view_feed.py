from __future__ import annotations

import asyncio
from typing import Any

from bench.screens import view_feed
from bench.screens.view_feed import ViewFeed
from bench.use_cases.view import BenchView, Notice, Tone


class App:
    """Takes messages the way an app does; its own timers never fire, as those of a late loop may not."""

    def __init__(self) -> None:
        self.messages: list[Any] = []

    def post_message(self, message: Any) -> bool:
        self.messages.append(message)
        return True

    def set_timer(self, *_: Any) -> None:
        return


def view(number: int) -> BenchView:
    return BenchView(notice=Notice(number, f"sentence {number}", Tone.NONE, "info"))


async def test_a_view_that_comes_too_soon_still_comes() -> None:
    app = App()
    feed = ViewFeed(app)  # type: ignore[arg-type]
    for number in range(1, 30):
        feed.came(view(number))
        while not app.messages:  # noqa: ASYNC110 the message comes from plain calls
            await asyncio.sleep(0.001)
        app.messages.clear()
        taken, said = feed.take()
        if taken is None:
            await asyncio.sleep(view_feed.LEAST_GAP_S * 1.5)
            assert len(app.messages) == 1
            app.messages.clear()
            taken, said = feed.take()
        assert taken is not None
        assert [notice.number for notice in said] == [number]


async def test_only_the_newest_view_is_drawn_and_no_sentence_is_lost() -> None:
    app = App()
    feed = ViewFeed(app)  # type: ignore[arg-type]
    for number in range(1, 6):
        feed.came(view(number))
    assert len(app.messages) == 1
    taken, said = feed.take()
    assert taken == view(5)
    assert [notice.number for notice in said] == [1, 2, 3, 4, 5]

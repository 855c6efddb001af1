"""The list of everything that can be done, searched by its words."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING, cast

from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.content import Content

from bench.screens.actions import ACTS, Act, key_words
from bench.screens.safe_text import safe

if TYPE_CHECKING:
    from bench.screens.app import BenchApp


class Everything(Provider):
    """Every action of the dashboard with its key, and why it is not possible where it is not."""

    def _lines(self) -> Iterator[tuple[Act, str, str | None]]:
        app = cast("BenchApp", self.app)
        for act in ACTS:
            why = act.why(app.view)
            key = key_words(app.keys_by_id.get(act.id, act.key))
            yield act, f"{act.words} [{key}]", f"not now: {safe(why)}" if why else None

    async def discover(self) -> Hits:
        """List everything before anything is typed: what can be done now, then what cannot and why.

        Yields
        ------
        DiscoveryHit
            One an action.
        """
        app = cast("BenchApp", self.app)
        for act, words, small in sorted(self._lines(), key=lambda line: bool(line[0].why(app.view))):
            yield DiscoveryHit(Content(words), partial(app.action_act, act.id), text=words, help=small)

    async def search(self, query: str) -> Hits:
        """List what fits the words that were typed.

        Parameters
        ----------
        query : str
            What was typed.

        Yields
        ------
        Hit
            One an action.
        """
        app = cast("BenchApp", self.app)
        matcher = self.matcher(query)
        for act, words, small in self._lines():
            score = max(matcher.match(words), matcher.match(act.label))
            if score > 0:
                yield Hit(score, Content(words), partial(app.action_act, act.id), text=words, help=small)

"""Ears and eyes: a tone a sentence, and the whole border lit for a moment, never faster than is safe to look at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import monotonic
from typing import TYPE_CHECKING

from bench.use_cases.view import Notice, Tone

if TYPE_CHECKING:
    from textual.app import App

LIT_S = 0.4
LEAST_BETWEEN_S = 0.4
"""Lit and dark take turns of at least this long: 1.25 flashes a second, well below three."""

STROKES = {Tone.ACCEPT: 1, Tone.ATTENTION: 2, Tone.REFUSE: 3}
STROKE_GAP_S = 0.25
_RANK = (Tone.NONE, Tone.ACCEPT, Tone.ATTENTION, Tone.REFUSE)


class Flash:
    """Plays the tone of a sentence and lights the border.

    Parameters
    ----------
    app : App
        Whose screen is lit.
    player : Callable[[Tone], bool or None] or None
        Plays tones; the terminal's bell when None or where it gives False: one stroke taken, two attention, three
        refused.
    """

    def __init__(self, app: App[int], player: Callable[[Tone], bool | None] | None) -> None:
        self._app = app
        self._player = player or self._ring
        self._dark_since = -LEAST_BETWEEN_S
        self._lit = False

    def hear(self, notices: Sequence[Notice]) -> None:
        """Play and show the strongest of some sentences.

        Parameters
        ----------
        notices : Sequence[Notice]
            New ones, oldest first.
        """
        tone = max((notice.tone for notice in notices), key=_RANK.index, default=Tone.NONE)
        if tone is Tone.NONE:
            return
        if self._player(tone) is False:
            self._ring(tone)
        now = monotonic()
        if self._lit or now - self._dark_since < LEAST_BETWEEN_S:
            return
        self._lit = True
        self._app.screen_stack[0].set_classes(f"flash-{tone.value}")
        self._app.set_timer(LIT_S, self._darken)

    def _darken(self) -> None:
        self._lit, self._dark_since = False, monotonic()
        for screen in self._app.screen_stack[:1]:
            screen.set_classes("")

    def _ring(self, tone: Tone) -> None:
        # the bell has one pitch, so the pattern speaks
        for stroke in range(STROKES.get(tone, 0)):
            self._app.set_timer(0.01 + STROKE_GAP_S * stroke, self._app.bell)

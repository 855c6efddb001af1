"""Spoken prompts: what is due now in a few words, once each time it changes."""

from __future__ import annotations

from collections.abc import Callable

from bench.screens.safe_text import safe
from bench.use_cases.view import BenchView

Speak = Callable[[str], None]


class SpokenPrompts:
    """Speaks the question that is open, else the instruction.

    Parameters
    ----------
    speak : Callable[[str], None] or None
        Speaks a sentence; None for silence.
    """

    def __init__(self, speak: Speak | None = None) -> None:
        self._speak = speak
        self._last = ""

    def hear(self, view: BenchView) -> None:
        """Speak what is due, when it is another thing than before.

        Parameters
        ----------
        view : BenchView
            The newest.
        """
        if self._speak is None or view.job is None:
            return
        words = view.question.words if view.question is not None else view.instruction.headline
        if words != self._last:
            self._last = words
            self._speak(safe(words))

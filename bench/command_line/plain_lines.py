"""What the plain lines mode says of a view: what is due, how a question is answered, what a bobweight misses."""

from __future__ import annotations

from bench.use_cases.view import BenchView, Doing, Question

SAID_EVERY_S = 2.0
"""What is missing to a bobweight is said no more often than this. [s]"""


class PlainLines:
    """Turns views into lines: each thing once, when it is new."""

    def __init__(self) -> None:
        self._due = ""
        self._question: Question | None = None
        self._missing = ""
        self._missing_s = -SAID_EVERY_S

    def lines(self, view: BenchView, now_s: float) -> list[str]:
        """Return what to say now.

        Parameters
        ----------
        view : BenchView
            The bench.
        now_s : float
            Moment. [s]

        Returns
        -------
        list[str]
            Empty when there is nothing new.
        """
        told = [self._due_words(view), self._answers(view), self._missing_words(view, now_s)]
        return [words for words in told if words]

    def _due_words(self, view: BenchView) -> str:
        detail = f" ({view.instruction.detail})" if view.instruction.detail else ""
        words = f"> {view.instruction.headline}{detail}"
        if words == self._due:
            return ""
        self._due = words
        return words

    def _answers(self, view: BenchView) -> str:
        question, before = view.question, self._question
        self._question = question
        if question is None or question == before or not question.choices:
            return ""
        return "answer: " + ",  ".join(f"{key} ({words})" for key, words in question.choices)

    def _missing_words(self, view: BenchView, now_s: float) -> str:
        live = view.live
        if view.want.doing is not Doing.MAKE or live.difference_g is None or live.phase == "pan empty":
            return ""
        places = len(live.shown.partition(".")[2])
        told = f"{'add' if live.difference_g > 0 else 'take off'} {abs(live.difference_g):.{places}f} g"
        if told == self._missing or now_s - self._missing_s < SAID_EVERY_S:
            return ""
        self._missing, self._missing_s = told, now_s
        return told

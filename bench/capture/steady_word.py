"""What the scale's own "not steady" is worth: learnt from how often it says so of a pan at rest."""

from __future__ import annotations

REMEMBERED = 150
PRIOR_LINES = 20.0
BELIEVED_SHARE = 0.1


class SteadyWord:
    """Share of lines of a pan at rest that the scale calls not steady.

    A scale that a shaking floor keeps from ever calling itself steady tells nothing about a hand by saying so again.
    """

    def __init__(self) -> None:
        self._wrong = 0.0
        self._lines = PRIOR_LINES

    @property
    def believed(self) -> bool:
        """Whether "not steady" is worth waiting for."""
        return self._wrong <= BELIEVED_SHARE * self._lines

    def at_rest(self, *, steady: bool | None) -> None:
        """Learn from a line of a pan at rest.

        Parameters
        ----------
        steady : bool | None
            What the scale said; None when it says nothing of the kind.
        """
        if steady is None:
            return
        fade = 1.0 - 1.0 / REMEMBERED
        self._wrong = fade * self._wrong + (not steady)
        self._lines = fade * self._lines + 1.0

"""Keys pressed on the scale itself: a reading that jumps to nought from one line to the next, both of them at rest."""

from __future__ import annotations

from math import ceil

from bench.capture.samples import Sample

NOUGHT_DIVISIONS = 2.0
REST_DIVISIONS = 2.0
BEFORE_LINES = 4
BEFORE_UPDATES = 2.5
LEAST_DIVISIONS = 50.0
LEAST_SHARE = 0.5
GAPS_OF_A_LIFT = 2.5
FAR_DIVISIONS = 3.0
MISSING_INTERVALS = 1.5


class KeyWatch:
    """Sees the zero or tare key pressed while something lies on the pan."""

    def __init__(self) -> None:
        self._last: list[Sample] = []

    def forget(self) -> None:
        """Forget what came before: lines were missing."""
        self._last.clear()

    def jumped_from(
        self,
        sample: Sample,
        *,
        division_g: float,
        noise_g: float,
        zero_g: float,
        load_g: float,
        lift_s: float,
        lines_per_update: float,
    ) -> float | None:
        """Take a reading and return the level before a key was pressed.

        Parameters
        ----------
        sample : Sample
            Newest reading.
        division_g : float
            Division. [g]
        noise_g : float
            Standard deviation of one reading. [g]
        zero_g : float
            Reading of the empty pan. [g]
        load_g : float
            What has been on the pan at most. [g]
        lift_s : float
            Time that a lift takes on this scale at least; 0 when not known. [s]
        lines_per_update : float
            Lines for each change of the display: repeats are no rest.

        Returns
        -------
        float or None
            Level before, zero included; None when no key was pressed. A lift never jumps in one line between two rests,
            unless the lines are slow, or some are missing, and the empty pan reads nought: then it is taken for a
            lift. [g]
        """
        lines = max(BEFORE_LINES, ceil(BEFORE_UPDATES * lines_per_update))
        self._last = [*self._last[-lines - 1 :], sample]
        if len(self._last) < lines + 2:
            return None
        *before, first, second = self._last
        nought = max(NOUGHT_DIVISIONS * division_g, 3.0 * noise_g)
        if max(abs(first.grams), abs(second.grams)) > nought:
            return None
        values = [s.grams for s in before]
        level = sum(values) / len(values)
        rest = max(REST_DIVISIONS * division_g, 4.0 * noise_g)
        if max(values) - min(values) > rest or abs(level) <= 3.0 * nought:
            return None
        if level - zero_g < max(LEAST_DIVISIONS * division_g, LEAST_SHARE * load_g):
            return None
        unseen_s = first.seconds - before[-1].seconds
        usual_s = (before[-1].seconds - before[0].seconds) / (len(before) - 1)
        if unseen_s > MISSING_INTERVALS * usual_s:
            return None
        sure = abs(zero_g) > FAR_DIVISIONS * nought or lift_s >= GAPS_OF_A_LIFT * unseen_s * lines_per_update
        return level if sure else None

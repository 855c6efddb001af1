"""Whether a display goes on creeping after the tone: such a one averages slowly near rest and looks steady too soon."""

from __future__ import annotations

REMEMBERED = 10
CREPT_DIVISIONS = 0.7
QUIET_DIVISIONS = 0.2
LONGER_S = 0.3


class CreepMemory:
    """How far the display of the running scale went on after the tone.

    Parameters
    ----------
    division_g : float
        Division. [g]
    """

    def __init__(self, division_g: float) -> None:
        self._division_g = division_g
        self._crept: list[bool] = []

    @property
    def longer_s(self) -> float:
        """How much longer a value must stand still on this scale, in seconds: 0 until its display has crept on."""
        return LONGER_S if any(self._crept) else 0.0

    def learn(self, late_g: float, *, single_g: float) -> None:
        """Take how far a value went on between the tone and the lift.

        Parameters
        ----------
        late_g : float
            What was shown last less what was taken. [g]
        single_g : float
            Noise of single readings at that load: where it is large nothing can be said. [g]
        """
        if single_g <= QUIET_DIVISIONS * self._division_g:
            crept = abs(late_g) > CREPT_DIVISIONS * self._division_g
            self._crept = [*self._crept[-REMEMBERED + 1 :], crept]

"""A number that stands still under a taken part: the part still lies there, or the scale does not weigh any more."""

from __future__ import annotations

from decimal import Decimal

from bench.capture.decisions import Phase
from drivers.contract import Reading

STANDS_STILL_S = 30.0


class Standstill:
    """Counts how long a taken part's number has not moved by a single division.

    A scale whose cell is unplugged, or whose hold key is pressed, sends its last number for ever. It looks like a
    part that was never lifted, so the person is told once of both.
    """

    def __init__(self) -> None:
        self._shown: Decimal | None = None
        self._since_ns = 0
        self._told = False

    def see(self, reading: Reading, phase: Phase) -> str:
        """Take a reading.

        Parameters
        ----------
        reading : Reading
            What came.
        phase : Phase
            Where the placement is.

        Returns
        -------
        str
            What to tell the person, once for each number that stands still; mostly empty.
        """
        if phase is not Phase.TAKEN or reading.value is None or reading.value != self._shown:
            self._shown = reading.value if phase is Phase.TAKEN else None
            self._since_ns, self._told = reading.at_ns, False
            return ""
        if self._told or reading.at_ns - self._since_ns < STANDS_STILL_S * 1e9:
            return ""
        self._told = True
        return (
            f"the scale has shown {reading.value} {reading.unit} for {STANDS_STILL_S:.0f} s: lift the part; "
            "if the pan is empty already, the scale stands still: look at its hold key and at its cell's plug"
        )

"""The bobweight machine: what is missing to the target, live; ready once it is within the band and left alone."""

from __future__ import annotations

from bench.capture.decisions import Expected
from bench.capture.windows import SampleRun, Window

DEFAULT_BAND_G = 0.1
ROUNDING_G = 1e-9
FEWEST_LINES = 5


class BobweightMachine:
    """Judges a bobweight while metal is put on and taken off.

    Parameters
    ----------
    steady_s : float
        Time without a hand before it is ready. [s]
    """

    def __init__(self, *, steady_s: float) -> None:
        self._steady_s = steady_s

    @staticmethod
    def difference(due: Expected, net_g: float) -> float | None:
        """Return what is missing.

        Parameters
        ----------
        due : Expected
            With a target.
        net_g : float
            What lies on the pan. [g]

        Returns
        -------
        float or None
            Positive: add; negative: take off; None without a target. [g]
        """
        return None if due.target_g is None else due.target_g - net_g

    @staticmethod
    def advice(difference_g: float, *, division_g: float) -> str:
        """Return what to do in words.

        Parameters
        ----------
        difference_g : float
            What is missing. [g]
        division_g : float
            Division of the scale. [g]

        Returns
        -------
        str
            "add 12.4 g", "take off 3.1 g".

        Examples
        --------
        >>> BobweightMachine.advice(-3.14, division_g=0.1)
        'take off 3.1 g'
        """
        places = next((p for p in range(5) if division_g >= 10.0**-p * 0.999), 5)
        word = "add" if difference_g > 0 else "take off"
        return f"{word} {abs(difference_g):.{places}f} g"

    def ready(self, run: SampleRun, due: Expected, *, zero_g: float, division_g: float) -> tuple[int, Window] | None:
        """Return the window that proves it, when the bobweight is within the band and nobody touches it.

        Parameters
        ----------
        run : SampleRun
            Samples since the last jump or hole.
        due : Expected
            With target and band.
        zero_g : float
            Reading of the empty pan. [g]
        division_g : float
            Division of the scale. [g]

        Returns
        -------
        tuple[int, Window] or None
            First index and the window.
        """
        first = run.first_of(self._steady_s)
        if first is None or due.target_g is None:
            return None
        window = run.window(first)
        flat = window.spread_g <= 1.01 * division_g and abs(window.halves_g) <= 0.67 * division_g
        if window.count < FEWEST_LINES or not flat:
            return None
        off = abs(due.target_g - (window.mean_g - zero_g))
        band = DEFAULT_BAND_G if due.band_g is None else due.band_g
        return (first, window) if off <= band + ROUNDING_G else None

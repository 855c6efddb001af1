"""The bobweight machine: what is missing to the target, live; ready once it is within the band and left alone."""

from __future__ import annotations

from dataclasses import dataclass

from bench.capture.decisions import Expected
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settle import Plateau, flat_windows
from bench.capture.valuing import noise_of_mean_g, shown_of
from bench.capture.windows import SampleRun

DEFAULT_BAND_G = 0.1
ROUNDING_G = 1e-9
FEWEST_LINES = 5
SURE_SHARE = 0.5
BEST_SHARE = 0.75
REFUSED_DIVISIONS = 1.4
READ_S = 2.0
LONG_S = (8.0, 10.0)
LINE_S = 0.5


@dataclass(frozen=True, slots=True)
class Judged:
    """What is to be said of a bobweight on the pan.

    Attributes
    ----------
    plateau : Plateau | None
        Within the band and left alone: take this.
    sure : bool
        Its mean is sure beside the band.
    noise_g : float
        What noise leaves in a long mean, where that is too much beside the band; 0 otherwise. [g]
    """

    plateau: Plateau | None = None
    sure: bool = False
    noise_g: float = 0.0


NOT_YET = Judged()


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

    def level_g(self, run: SampleRun, *, scale: ScaleMemory) -> float | None:
        """Return what a person reads off a display that flickers: the middle of what it showed a moment long.

        Parameters
        ----------
        run : SampleRun
            Samples since the last jump or hole.
        scale : ScaleMemory
            The scale.

        Returns
        -------
        float or None
            Mean of the last two seconds, zero included; None while what lies there moves. [g]
        """
        flat = _flat(run, READ_S, scale=scale, rough_g=0.0) if run.samples else []
        return flat[0].mean_g if flat else None

    def judge(self, run: SampleRun, due: Expected, *, scale: ScaleMemory, rough_g: float) -> Judged:
        """Tell whether the bobweight is within the band and nobody touches it.

        A display flickers more under two kilograms than under a piston, so what counts is not that it stands still
        but that no more than its noise is seen, for long enough that the mean is sure beside the band.

        Parameters
        ----------
        run : SampleRun
            Samples since the last jump or hole.
        due : Expected
            With target and band.
        scale : ScaleMemory
            The scale: division, noise, zero.
        rough_g : float
            Scatter that has been seen to last while this lies there. [g]

        Returns
        -------
        Judged
            The shortest stretch that proves it; after a long calm one that is less sure.
        """
        if due.target_g is None or not run.samples:
            return NOT_YET
        band = DEFAULT_BAND_G if due.band_g is None else due.band_g
        longest = error = 0.0
        for seconds in (self._steady_s, *LONG_S):
            for plateau in _flat(run, seconds, scale=scale, rough_g=rough_g):
                longest = plateau.window.span_s
                error = noise_of_mean_g(plateau, load_g=plateau.mean_g - scale.zero.grams, scale=scale)
                sure = error <= SURE_SHARE * band
                best = longest >= LONG_S[-1] - LINE_S and error <= scale.division_g * REFUSED_DIVISIONS
                if plateau.window.count < FEWEST_LINES or not (sure or best):
                    continue
                allowed = band - error if sure else BEST_SHARE * band
                if _within(run, plateau, due, scale, allowed_g=allowed, band_g=band):
                    return Judged(plateau, sure=sure)
        return Judged(noise_g=error) if longest >= LONG_S[0] - LINE_S and error > SURE_SHARE * band else NOT_YET


def _within(
    run: SampleRun, plateau: Plateau, due: Expected, scale: ScaleMemory, *, allowed_g: float, band_g: float
) -> bool:
    # the middle with what noise leaves in it, and the shown value, by which it is judged ever after
    target = due.target_g or 0.0
    shown = shown_of(run, plateau, base_g=scale.zero.grams, scale=scale) * scale.factor
    band = max(band_g, float(scale.step * scale.factor) / 2.0)
    off = abs(target - (plateau.mean_g - scale.zero.grams))
    return off <= allowed_g + ROUNDING_G and abs(target - float(shown)) <= band + ROUNDING_G


def _flat(run: SampleRun, seconds: float, *, scale: ScaleMemory, rough_g: float) -> list[Plateau]:
    return flat_windows(
        run,
        shortest_s=seconds,
        division_g=scale.division_g,
        noise=scale.noise,
        load_g=run.samples[-1].grams - scale.zero.grams,
        lines_per_update=scale.tails.lines_per_update,
        rough_g=rough_g,
    )

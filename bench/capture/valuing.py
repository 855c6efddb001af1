"""From a flat stretch to a value: what was shown, in grams, refined, with its uncertainty and the lines it rests on."""

from __future__ import annotations

from decimal import Decimal

from bench.capture.decisions import Expected, Taken
from bench.capture.scale_memory import ScaleMemory
from bench.capture.settings import WeighSettings
from bench.capture.settle import Plateau
from bench.capture.uncertainty import standard_uncertainty_g
from bench.capture.units import in_grams, nearest_step
from bench.capture.windows import SampleRun

KEPT_LINES = 40
LIMIT_SHARE = 0.25
GOOD_SHARE = 1.0 / 6.0
QUIETEST_DIVISIONS = 0.35
CHANCE_DIVISIONS = 0.75


def good_uncertainty_g(due: Expected, scale: ScaleMemory, settings: WeighSettings) -> float:
    """Return the uncertainty that is worth no more waiting before the tone.

    Parameters
    ----------
    due : Expected
        What is due.
    scale : ScaleMemory
        The scale.
    settings : WeighSettings
        Limits.

    Returns
    -------
    float
        Standard uncertainty. [g]
    """
    if due.limit_g is None:
        return settings.tone_divisions * scale.division_g
    return max(settings.good_divisions * scale.division_g, GOOD_SHARE * due.limit_g)


def too_uncertain(
    uncertainty_g: float, due: Expected, scale: ScaleMemory, settings: WeighSettings, *, at_lift: bool
) -> bool:
    """Return whether an uncertainty is too large for the limit of the set.

    Parameters
    ----------
    uncertainty_g : float
        Standard uncertainty. [g]
    due : Expected
        What is due.
    scale : ScaleMemory
        The scale.
    settings : WeighSettings
        Limits.
    at_lift : bool
        All has been seen that will be; False while the part still lies there.

    Returns
    -------
    bool
        True when the value is to be shown as doubtful.
    """
    divisions = settings.good_divisions if at_lift else settings.tone_divisions
    limit = divisions * scale.division_g if due.limit_g is None else LIMIT_SHARE * due.limit_g
    return not uncertainty_g <= limit


def uncertainty_of(
    plateau: Plateau, *, load_g: float, seconds: float, scale: ScaleMemory, with_noise: bool = True
) -> float:
    """Return the standard uncertainty of a mean at load less the zero.

    Parameters
    ----------
    plateau : Plateau
        The stretch.
    load_g : float
        Load. [g]
    seconds : float
        Moment. [s]
    scale : ScaleMemory
        The scale.
    with_noise : bool
        False tells what waiting cannot better.

    Returns
    -------
    float
        Standard uncertainty. [g]
    """
    return standard_uncertainty_g(
        division_g=scale.division_g,
        scatter_g=plateau.window.scatter_g,
        scatter_at_zero_g=scale.noise.single_g,
        noise_of_mean_g=noise_of_mean_g(plateau, load_g=load_g, scale=scale) if with_noise else 0.0,
        zero_g=scale.zero.uncertainty_g(seconds),
    )


def noise_of_mean_g(plateau: Plateau, *, load_g: float, scale: ScaleMemory) -> float:
    """Return the standard deviation that noise leaves in the mean of a stretch.

    Parameters
    ----------
    plateau : Plateau
        The stretch.
    load_g : float
        Load. [g]
    scale : ScaleMemory
        The scale.

    Returns
    -------
    float
        As learnt, more where the stretch is rougher than that. [g]
    """
    learnt = scale.noise.best_mean_at(plateau.window.span_s, load_g)
    single = scale.noise.single_at(load_g)
    return learnt * max(1.0, plateau.window.scatter_g / max(single, QUIETEST_DIVISIONS * scale.division_g))


def shown_of(run: SampleRun, plateau: Plateau, *, base_g: float, scale: ScaleMemory) -> Decimal:
    """Return what a stretch shows, to the division of the scale.

    Parameters
    ----------
    run : SampleRun
        Samples.
    plateau : Plateau
        The stretch.
    base_g : float
        Level it lies on, zero included. [g]
    scale : ScaleMemory
        The scale.

    Returns
    -------
    Decimal
        The value shown most often; where the display flickers over so much that this is chance, the one nearest to
        the middle. [unit]
    """
    mode = run.most_frequent(plateau.first, end=plateau.end)
    base = Decimal(repr(base_g)) / scale.factor
    if abs(float(mode * scale.factor) - plateau.mean_g) <= CHANCE_DIVISIONS * scale.division_g:
        return nearest_step(mode - base, scale.step)
    return nearest_step(Decimal(repr(plateau.mean_g)) / scale.factor - base, scale.step)


def value_of(
    run: SampleRun,
    plateau: Plateau,
    *,
    at_ns: int,
    key: str,
    base_g: float,
    scale: ScaleMemory,
    uncertainty_g: float,
    doubtful: bool,
) -> Taken:
    """Return a stretch as a value.

    Parameters
    ----------
    run : SampleRun
        Samples.
    plateau : Plateau
        The stretch.
    at_ns : int
        Moment of the decision. [ns]
    key : str
        What was due.
    base_g : float
        Level it lies on, zero included. [g]
    scale : ScaleMemory
        The scale.
    uncertainty_g : float
        Standard uncertainty. [g]
    doubtful : bool
        Too uncertain for the set.

    Returns
    -------
    Taken
        The value.
    """
    first = plateau.first
    shown = shown_of(run, plateau, base_g=base_g, scale=scale)
    return Taken(
        at_ns=at_ns,
        key=key,
        shown=shown,
        unit=scale.unit,
        grams=in_grams(shown, scale.factor),
        refined_g=plateau.mean_g - base_g,
        standard_uncertainty_g=uncertainty_g,
        doubtful=doubtful,
        raw=tuple(s.raw for s in run.samples[first : plateau.end][-KEPT_LINES:]),
    )

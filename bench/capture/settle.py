"""When a pan has settled: the shortest trailing window that is flat and precise enough."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from bench.capture.noise import PanNoise, tapered
from bench.capture.windows import SampleRun, Window

LADDER = (1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 3.75, 4.5)
LONGEST_S = 6.0
FEWEST_LINES = 3
ROUNDING = 1.001
SWING_SD = 1.7
SCATTER_SD = 1.5
LASTING = 1.25
LASTS_S = 4.0
LATEST_HAND_S = 2.5
WIDEST_SWING_DIVISIONS = 6.0


@dataclass(frozen=True, slots=True)
class Plateau:
    """A stretch that passed as flat.

    Attributes
    ----------
    first : int
        Index of its first sample in the run.
    window : Window
        What it shows.
    mean_g : float
        Its level: the plain mean, or the tapered one where that is steadier. [g]
    end : int | None
        Index after its last sample; None for the newest of then.
    """

    first: int
    window: Window
    mean_g: float
    end: int | None = None


def is_flat(
    window: Window, *, division_g: float, noise: PanNoise, load_g: float, lines_per_update: float, rough_g: float = 0.0
) -> bool:
    """Return whether a window shows a pan at rest.

    Parameters
    ----------
    window : Window
        What is seen.
    division_g : float
        Division. [g]
    noise : PanNoise
        What is learnt of the noise.
    load_g : float
        Load. [g]
    lines_per_update : float
        Lines for each change of the display: repeats are no evidence.
    rough_g : float
        Scatter that has been seen to last at this load. [g]

    Returns
    -------
    bool
        True when (A) all readings lie within a division and its halves agree, or (B) the scatter is no more than
        noise and the slope no more than chance.
    """
    d = division_g
    if window.spread_g <= ROUNDING * d and abs(window.halves_g) <= 0.667 * d:
        return True
    if window.scatter_g > max(0.35 * d, SCATTER_SD * noise.single_at(load_g), LASTING * rough_g):
        return False
    fall = abs(window.slope_g_per_s) * window.span_s
    chance = window.scatter_g * sqrt(12.0 * lines_per_update / window.count)
    usual = min(SWING_SD * noise.swing_at(window.span_s, load_g), WIDEST_SWING_DIVISIONS * d)
    return fall <= max(0.6 * d, 2.0 * chance, usual)


def plateau_of(run: SampleRun, first: int, window: Window, *, noise: PanNoise, end: int | None = None) -> Plateau:
    """Return a window with the level that is taken of it.

    Parameters
    ----------
    run : SampleRun
        Samples.
    first : int
        Index of the first.
    window : Window
        What it shows.
    noise : PanNoise
        What is learnt of the noise.
    end : int | None
        Index after the last; None for the newest.

    Returns
    -------
    Plateau
        The stretch.
    """
    if not noise.tapers_at(window.span_s):
        return Plateau(first, window, window.mean_g, end)
    return Plateau(first, window, tapered([s.grams for s in run.samples[first:end]]), end)


def flat_windows(
    run: SampleRun,
    *,
    shortest_s: float,
    division_g: float,
    noise: PanNoise,
    load_g: float,
    lines_per_update: float,
    rough_g: float = 0.0,
    line_s: float = 0.0,
) -> list[Plateau]:
    """Return the trailing windows of the ladder that are flat, shortest first.

    Parameters
    ----------
    run : SampleRun
        Samples since the last hole or jump.
    shortest_s : float
        Length the evidence must have. [s]
    division_g : float
        Division. [g]
    noise : PanNoise
        What is learnt of the noise.
    load_g : float
        Load. [g]
    lines_per_update : float
        Lines for each change of the display.
    rough_g : float
        Scatter that has been seen to last at this load. [g]
    line_s : float
        Time between lines: the outer two stand for half of it each beyond the window. [s]

    Returns
    -------
    list[Plateau]
        Empty while the pan moves.
    """
    found: list[Plateau] = []
    tried = -1
    for step in LADDER:
        seconds = shortest_s * step
        if step > 1.0 and seconds > LONGEST_S:
            break
        first = run.first_of(seconds - 0.5 * line_s)
        if first is None:
            break
        if first == tried:
            continue
        tried = first
        window = run.window(first)
        if window.count < FEWEST_LINES:
            continue
        if is_flat(
            window,
            division_g=division_g,
            noise=noise,
            load_g=load_g,
            lines_per_update=lines_per_update,
            rough_g=rough_g,
        ):
            found.append(plateau_of(run, first, window, noise=noise))
    return found


def lasting_scatter_g(run: SampleRun, *, since_s: float, lines_per_update: float) -> float:
    """Return the scatter of a pan that has been unsteady for long without going anywhere: this is its noise here.

    Parameters
    ----------
    run : SampleRun
        Samples since the last hole or jump.
    since_s : float
        Since when something lies there. [s]
    lines_per_update : float
        Lines for each change of the display.

    Returns
    -------
    float
        0 when it moves, or has not lain there for long enough. [g]
    """
    if not run.samples or run.samples[-1].seconds - since_s < LASTS_S + LATEST_HAND_S:
        return 0.0
    first = run.first_of(LASTS_S)
    if first is None or len(run) - first < 2 * FEWEST_LINES:
        return 0.0
    window = run.window(first)
    chance = window.scatter_g * sqrt(12.0 * lines_per_update / window.count)
    return window.scatter_g if abs(window.slope_g_per_s) * window.span_s <= 2.0 * chance else 0.0

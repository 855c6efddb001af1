"""Named surroundings of a scale: how the floor shakes, how the air moves, what hands do, what the display does.

The twelve from C1 to C12 are those of the weighing benchmark; ``demo`` is the calm bench of the demo.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Condition:
    """Ranges and shares from which each placement draws.

    Attributes
    ----------
    name : str
        Short name.
    words : str
        What it is like.
    division_kg : float
        Readability of the scale. [kg]
    shaking_m_per_s : Span
        Vertical vibration of the floor, rms of velocity. [m/s]
    draught_kg : float
        Standard deviation of the air's slow push. [kg]
    drift_kg_per_s : Span
        Wandering of the zero, either way. [kg/s]
    creep : Span
        Part of the load by which the reading creeps on.
    lingering : float
        Share of placements on which a hand keeps resting.
    rocking : float
        Share of placements that rock.
    touching : float
        Share of placements that are touched again later.
    slow_display : float
        Share of scales whose display changes less often than lines are sent.
    sticky_display : float
        Share of scales with a dead band and slow averaging near rest.
    garbled : Span
        Share of damaged lines.
    doubled : Span
        Share of doubled lines.
    silent : float
        Share of placements with a silence of 2 s on the line.
    noise_divisions : Span
        Electronic noise. [division]
    rates_hz : tuple[float, ...]
        Line rates to choose from. [1/s]
    settle_s : Span
        Time to settle within 2e-4 of a step. [s]
    average_s : Span
        Moving average. [s]
    flags : tuple[float, float, float]
        Shares of scales with no, a fair and a too early steady word.
    zero_divisions : float
        Largest error of a fresh zero. [division]
    """

    name: str
    words: str
    division_kg: float = 1e-4
    shaking_m_per_s: Span = (10e-6, 50e-6)
    draught_kg: float = 0.0
    drift_kg_per_s: Span = (0.0, 0.0)
    creep: Span = (0.0, 0.0)
    lingering: float = 0.0
    rocking: float = 0.0
    touching: float = 0.0
    slow_display: float = 0.0
    sticky_display: float = 0.0
    garbled: Span = (0.0, 0.0)
    doubled: Span = (0.0, 0.0)
    silent: float = 0.0
    noise_divisions: Span = (0.05, 0.25)
    rates_hz: tuple[float, ...] = (4.0, 5.0, 8.0, 10.0, 12.5, 16.0, 20.0)
    settle_s: Span = (0.3, 1.5)
    average_s: Span = (0.05, 0.4)
    flags: tuple[float, float, float] = (0.3, 0.4, 0.3)
    zero_divisions: float = 0.25


_G_PER_MIN = 1e-3 / 60.0
_QUIET = Condition("C1", "quiet bench")
_SHOP = replace(
    _QUIET,
    name="C2",
    words="typical shop",
    shaking_m_per_s=(100e-6, 400e-6),
    draught_kg=0.03e-3,
    rocking=0.25,
    lingering=0.05,
    touching=0.03,
)

CONDITIONS: dict[str, Condition] = {
    c.name: c
    for c in (
        _QUIET,
        _SHOP,
        replace(_QUIET, name="C3", words="strong vibration", shaking_m_per_s=(600e-6, 1000e-6)),
        replace(_QUIET, name="C4", words="draught", draught_kg=0.15e-3),
        replace(_QUIET, name="C5", words="a hand lingers every time", lingering=1.0),
        replace(_QUIET, name="C6", words="every part rocks", rocking=1.0),
        replace(_QUIET, name="C7", words="lines repeat a slower display", slow_display=1.0),
        replace(_QUIET, name="C8", words="sticky display", sticky_display=1.0),
        replace(_QUIET, name="C9", words="bad link", garbled=(0.01, 0.03), doubled=(0.02, 0.05), silent=0.1),
        replace(
            _QUIET,
            name="C10",
            words="readability 0.01 g",
            division_kg=1e-5,
            noise_divisions=(0.1, 0.5),
        ),
        replace(
            _QUIET,
            name="C11",
            words="drift and creep",
            drift_kg_per_s=(0.05 * _G_PER_MIN, 0.1 * _G_PER_MIN),
            creep=(0.0, 1e-4),
        ),
        replace(
            _SHOP,
            name="C12",
            words="all at once",
            draught_kg=0.05e-3,
            drift_kg_per_s=(0.0, 0.1 * _G_PER_MIN),
            creep=(0.0, 1e-4),
            lingering=0.15,
            rocking=0.3,
            touching=0.05,
            slow_display=0.15,
            sticky_display=0.15,
            garbled=(0.0, 0.02),
            doubled=(0.0, 0.04),
            silent=0.03,
        ),
        Condition(
            "demo",
            "calm bench of the demo, ten lines a second, a fair steady word",
            noise_divisions=(0.08, 0.12),
            rates_hz=(10.0,),
            settle_s=(0.5, 0.6),
            average_s=(0.1, 0.15),
            flags=(0.0, 1.0, 0.0),
            zero_divisions=0.1,
        ),
    )
}


def condition_named(name: str) -> Condition:
    """Return a condition.

    Parameters
    ----------
    name : str
        For instance ``C2``.

    Returns
    -------
    Condition
        Its ranges and shares.

    Raises
    ------
    ValueError
        If there is none of that name.
    """
    try:
        return CONDITIONS[name]
    except KeyError:
        raise ValueError(
            f"condition {name!r}: found none of that name, wanted one of {', '.join(CONDITIONS)}"
        ) from None

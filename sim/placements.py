"""Thousands of parts laid on thousands of scales: what a settling rule is judged on.

Each placement is a scale of its own: an empty pan, a part laid on it by a hand, the part staying there. The part can be
lifted at any moment afterwards without simulating anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.batch_run import run_batch
from sim.conditions import Condition, condition_named
from sim.display_lines import LineTable, show_lines
from sim.floor import draw_floor
from sim.hands import draw_hands
from sim.pan import draw_pans

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

PART_KINDS = ("piston", "pin", "rings", "locks", "rod_whole", "rod_small_end", "rod_bearings")

_CHUNK = 1250
_SHARES = np.array([8.0, 8.0, 8.0, 16.0, 8.0, 8.0, 8.0])
_RANGES_KG = np.array(
    [[0.350, 0.560], [0.090, 0.150], [0.035, 0.060], [0.0010, 0.0022], [0.480, 0.720], [0.150, 0.230], [0.030, 0.055]]
)


@dataclass(frozen=True, slots=True)
class Placement:
    """One part laid on one scale.

    Attributes
    ----------
    kind : str
        What kind of part.
    truth_g : float
        Its true mass. [g]
    division_g : float
        Readability of the scale. [g]
    rate_hz : float
        Lines a second. [1/s]
    line_s : Floats
        When each line arrives; the empty pan comes first. [s]
    value_g : Floats
        What each line shows; NaN where a line is damaged beyond reading. [g]
    steady : Flags | None
        The steady word of each line; None when this scale has none.
    on_s : float
        First contact of the part. [s]
    hand_off_s : float
        When the hand has left. [s]
    settle_s : float
        When the scale's output, without noise and surroundings, comes within half a division of the part's weight and
        stays there for a second; NaN when it never does. [s]
    end_s : float
        When the simulation ends; the part is still there. [s]
    lingering : bool
        Whether a hand rested on the part.
    row : int
        Its row in the table.
    table : LineTable
        Where it came from.
    """

    kind: str
    truth_g: float
    division_g: float
    rate_hz: float
    line_s: Floats
    value_g: Floats
    steady: Flags | None
    on_s: float
    hand_off_s: float
    settle_s: float
    end_s: float
    lingering: bool
    row: int
    table: LineTable

    def lifted(self, at_s: float, *, tail_s: float = 3.0) -> tuple[Floats, Floats, Flags | None]:
        """Return the lines when the part is lifted at some moment instead of staying.

        Parameters
        ----------
        at_s : float
            When the fingers close on it. [s]
        tail_s : float
            How much of the empty pan is wanted after that; nothing is known after `end_s`. [s]

        Returns
        -------
        tuple[Floats, Floats, Flags | None]
            Times [s], values [g] and steady words; before ``at_s`` the same as here.
        """
        return self.table.lifted(self.row, at_s=at_s, until_s=at_s + tail_s)


def placements(
    condition: str | Condition, count: int, seed: int, *, empty_s: float = 4.0, stay_s: float = 14.0
) -> Iterator[Placement]:
    """Simulate some placements.

    Parameters
    ----------
    condition : str | Condition
        Name of the surroundings, for instance ``C2``, or the surroundings themselves.
    count : int
        How many.
    seed : int
        What they are drawn from; the same seed gives the same lines.
    empty_s : float
        How long the empty pan is seen before. [s]
    stay_s : float
        How long the part stays after first contact. [s]

    Yields
    ------
    Placement
        One after the other.
    """
    chosen = condition_named(condition) if isinstance(condition, str) else condition
    for number, begin in enumerate(range(0, count, _CHUNK)):
        rng = np.random.default_rng((seed, 707, number))
        yield from _chunk(chosen, min(_CHUNK, count - begin), rng, empty_s=empty_s, stay_s=stay_s)


def _chunk(
    condition: Condition, count: int, rng: np.random.Generator, *, empty_s: float, stay_s: float
) -> Iterator[Placement]:
    kinds = rng.choice(len(PART_KINDS), count, p=_SHARES / _SHARES.sum())
    lightest, heaviest = _RANGES_KG[kinds, 0], _RANGES_KG[kinds, 1]
    mass_kg: Floats = lightest + (heaviest - lightest) * rng.random(count)
    pans = draw_pans(condition, count, rng)
    floor = draw_floor(condition, count, rng)
    hands = draw_hands(condition, mass_kg, rng)
    on_s = empty_s + rng.uniform(0.0, 0.3, count)
    end_s = empty_s + 0.3 + stay_s
    signals = run_batch(pans, floor, hands, mass_kg, on_s=on_s, end_s=end_s, rng=rng)
    table = show_lines(condition, pans, signals, rng)
    settled = signals.settled_s(mass_kg, on_s, pans.division_kg)
    for row in range(count):
        line_s, value_g, steady = table.of_row(row)
        yield Placement(
            kind=PART_KINDS[int(kinds[row])],
            truth_g=float(mass_kg[row]) * 1000.0,
            division_g=pans.division_kg * 1000.0,
            rate_hz=float(pans.rate_hz[row]),
            line_s=line_s,
            value_g=value_g,
            steady=steady,
            on_s=float(on_s[row]),
            hand_off_s=float(on_s[row] + hands.off_s[row]),
            settle_s=float(settled[row]),
            end_s=end_s,
            lingering=bool(hands.linger_kg[row] != 0.0),
            row=row,
            table=table,
        )

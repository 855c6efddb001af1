"""Which washers and shims from stock bring a bobweight to its target: the fewest pieces, both halves even."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bench.computation.checks import not_negative, positive
from bench.computation.errors import QuantityError

MOST_KINDS = 200
"""Kinds of pieces in a stock."""
MOST_PIECES = 1000
"""Pieces of one kind that are counted."""
SLACK_G = 1e-6
"""What the solver's tolerances may hide. [g]"""


@dataclass(frozen=True, slots=True)
class StockPiece:
    """One kind of piece in the shop's stock.

    Attributes
    ----------
    grams : float
        Weight of one. [g]
    count : int
        How many there are.
    """

    grams: float
    count: int


@dataclass(frozen=True, slots=True)
class ShimPack:
    """What to put on each half.

    Attributes
    ----------
    each_half : dict[str, int]
        Pieces of each kind for one half; the other half gets the same. Kinds not used are left out.
    pieces : int
        Both halves together.
    reached_g : float
        Weight of the bobweight with the pack. [g]
    off_g : float
        Reached less target. [g]
    within : bool
        Whether that is within the tolerance.
    """

    each_half: dict[str, int]
    pieces: int
    reached_g: float
    off_g: float
    within: bool


def shim_pack(stock: Mapping[str, StockPiece], *, target_g: float, empty_g: float, tolerance_g: float) -> ShimPack:
    """Return the pack with the fewest pieces that reaches the target, or the nearest one if none does.

    Parameters
    ----------
    stock : Mapping[str, StockPiece]
        What is there, by name.
    target_g : float
        What the bobweight must weigh. [g]
    empty_g : float
        What its two halves and bolts weigh without pieces. [g]
    tolerance_g : float
        How near it must come. [g]

    Returns
    -------
    ShimPack
        Among packs of the same number of pieces the nearest one.

    Raises
    ------
    QuantityError
        If the stock is empty, a weight or count is not above zero, or the empty bobweight is above the target already.

    Notes
    -----
    Every piece has its twin on the other half, so half of what is missing is made up from half of the stock: an integer
    programme (HiGHS), first for the fewest pieces within the tolerance, then for the nearest of those.

    Examples
    --------
    >>> stock = {"washer 20 g": StockPiece(20.0, 8), "shim 1 g": StockPiece(1.0, 10)}
    >>> shim_pack(stock, target_g=1042.0, empty_g=1000.0, tolerance_g=0.1).each_half
    {'washer 20 g': 1, 'shim 1 g': 1}
    """
    missing_g = _checked_missing(stock, target_g=target_g, empty_g=empty_g, tolerance_g=tolerance_g)
    names = [name for name, piece in stock.items() if piece.count >= 2]
    counts = dict.fromkeys(names, 0)
    if names and missing_g > tolerance_g:
        weights = [2.0 * stock[name].grams for name in names]
        most = [stock[name].count // 2 for name in names]
        counts = dict(zip(names, _fewest(weights, most, missing_g, tolerance_g), strict=True))
    reached_g = empty_g + sum(2.0 * stock[name].grams * count for name, count in counts.items())
    off_g = reached_g - target_g
    return ShimPack(
        each_half={name: count for name, count in counts.items() if count},
        pieces=2 * sum(counts.values()),
        reached_g=reached_g,
        off_g=off_g,
        within=abs(off_g) <= tolerance_g + SLACK_G,
    )


def _checked_missing(stock: Mapping[str, StockPiece], *, target_g: float, empty_g: float, tolerance_g: float) -> float:
    if not 1 <= len(stock) <= MOST_KINDS:
        raise QuantityError("stock", found=len(stock), wanted=f"1 to {MOST_KINDS} kinds of pieces")
    for name, piece in stock.items():
        positive(piece.grams, quantity=f"stock.{name}.grams")
        if piece.grams > 1e6:
            raise QuantityError(f"stock.{name}.grams", found=piece.grams, wanted="at most 1e6 g")
        if not 0 <= piece.count <= MOST_PIECES:
            raise QuantityError(f"stock.{name}.count", found=piece.count, wanted=f"0 to {MOST_PIECES}")
    positive(target_g, quantity="target_g")
    if target_g > 1e6:
        raise QuantityError("target_g", found=target_g, wanted="at most 1e6 g")
    not_negative(empty_g, quantity="empty_g")
    positive(tolerance_g, quantity="tolerance_g")
    if empty_g > target_g + tolerance_g:
        raise QuantityError("empty_g", found=empty_g, wanted=f"no more than the target, {target_g}")
    return target_g - empty_g


def _fewest(weights: list[float], most: list[int], missing_g: float, tolerance_g: float) -> list[int]:
    """Return how many of each pair of pieces: fewest within the tolerance, else nearest; nearest among equals."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    kinds = len(weights)
    # the unknowns: pairs of each kind, and how far off the sum is
    row = np.array([*weights, 0.0])
    over, under = row.copy(), row.copy()
    over[-1], under[-1] = -1.0, 1.0
    pairs = np.array([*np.ones(kinds), 0.0])
    off = np.zeros(kinds + 1)
    off[-1] = 1.0
    limits = [
        LinearConstraint(over, -np.inf, missing_g),
        LinearConstraint(under, missing_g, np.inf),
    ]
    integrality = np.array([1] * kinds + [0], dtype=np.int64)
    bounds = Bounds(np.zeros(kinds + 1), np.array([*most, np.inf], dtype=np.float64))

    def least(cost: np.ndarray[tuple[int], np.dtype[np.float64]], extra: list[LinearConstraint]) -> list[int] | None:
        result = milp(
            cost, integrality=integrality, bounds=bounds, constraints=limits + extra, options={"mip_rel_gap": 0.0}
        )
        return None if result.x is None else [round(float(value)) for value in result.x[:kinds]]

    nearest = least(off, [])
    if nearest is None:
        raise QuantityError("stock", found="no pack", wanted="a stock the solver can work with")
    reach_g = max(abs(sum(w * n for w, n in zip(weights, nearest, strict=True)) - missing_g), tolerance_g)
    fewest = least(pairs, [LinearConstraint(off, 0.0, reach_g + SLACK_G / 2.0)]) or nearest
    best = least(off, [LinearConstraint(pairs, 0.0, float(sum(fewest)))])
    return best or fewest

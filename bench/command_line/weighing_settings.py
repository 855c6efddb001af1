"""What a shop sets about weighing, and its stock of washers and shims."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from bench.capture.settings import WeighSettings
from bench.computation.shims import MOST_PIECES, StockPiece
from bench.use_cases.weigh_rules import WeighRules

STOCK_WANTED = "grams of one and how many, e.g. 20.0 x 8"


class WeighingSettings(BaseModel):
    """Weighing; 0 switches a reminder off.

    Attributes
    ----------
    check_after_h : float
        A check of the scale with a known weight is good for so long. [h]
    check_after_degrees : float
        And for a change of temperature up to this. [K]
    check_after_divisions : float
        And while the empty pan has wandered less than this since. [division]
    temperature_c : float or None
        How warm it is at the scale, where a thermometer is read into the settings. [°C]
    hang_twice : bool
        Each rod is hung by one end twice, with a lift between; the mean counts.
    hang_limit_g : float or None
        How far the two may lie apart; three divisions, or what noise explains, when nothing is said. [g]
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    check_after_h: Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)] = 4.0
    check_after_degrees: Annotated[float, Field(ge=0, le=60, allow_inf_nan=False)] = 5.0
    check_after_divisions: Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)] = 5.0
    temperature_c: Annotated[float, Field(ge=-40, le=80, allow_inf_nan=False)] | None = None
    hang_twice: bool = False
    hang_limit_g: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)] | None = None


def stock_piece(words: str) -> StockPiece:
    """Return a kind of piece from its words.

    Parameters
    ----------
    words : str
        "20.0 x 8": grams of one, and how many there are.

    Returns
    -------
    StockPiece
        As said.

    Raises
    ------
    ValueError
        With what was wanted.
    """
    grams, cross, count = words.lower().replace("g", " ").replace(",", ".").partition("x")
    try:
        piece = StockPiece(float(grams), int(count))
    except ValueError:
        raise ValueError(STOCK_WANTED) from None
    if not cross or not 0.0 < piece.grams <= 1e6 or not 0 <= piece.count <= MOST_PIECES:
        raise ValueError(f"{STOCK_WANTED}; grams above 0, count up to {MOST_PIECES}")
    return piece


def weigh_rules(weighing: WeighingSettings, stock: Mapping[str, str]) -> WeighRules:
    """Return what the desk is told of the settings.

    Parameters
    ----------
    weighing : WeighingSettings
        Weighing.
    stock : Mapping[str, str]
        Pieces in words, by name.

    Returns
    -------
    WeighRules
        For the desk.
    """
    return WeighRules(
        check_after_h=weighing.check_after_h,
        check_after_degrees=weighing.check_after_degrees,
        check_after_divisions=weighing.check_after_divisions,
        temperature_c=weighing.temperature_c,
        stock={name: stock_piece(words) for name, words in stock.items()},
    )


def weigh_settings(weighing: WeighingSettings) -> WeighSettings:
    """Return what the weigh machine is told of the settings.

    Parameters
    ----------
    weighing : WeighingSettings
        Weighing.

    Returns
    -------
    WeighSettings
        For the machine; its times are its own.
    """
    return WeighSettings(hang_twice=weighing.hang_twice, hang_limit_g=weighing.hang_limit_g)

"""What a shop sets about weighing: when the scale is to be checked again, how rods are hung, what lies in stock."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from types import MappingProxyType

from bench.computation.shims import StockPiece


@dataclass(frozen=True, slots=True)
class WeighRules:
    """What a shop sets about weighing; 0 switches a reminder off.

    Attributes
    ----------
    check_after_h : float
        A check of the scale is good for so long. [h]
    check_after_degrees : float
        And for a change of temperature up to this. [K]
    check_after_divisions : float
        And while the zero has wandered less than this since. [division]
    temperature_c : float | None
        How warm it is at the scale, where a thermometer is read into the settings. [°C]
    stock : Mapping[str, StockPiece]
        Washers and shims by name.
    utc_now : Callable[[], datetime]
        Wall clock.
    """

    check_after_h: float = 4.0
    check_after_degrees: float = 5.0
    check_after_divisions: float = 5.0
    temperature_c: float | None = None
    stock: Mapping[str, StockPiece] = field(default_factory=lambda: MappingProxyType({}))
    utc_now: Callable[[], datetime] = field(default=lambda: datetime.now(UTC))

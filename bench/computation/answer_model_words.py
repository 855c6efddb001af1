"""How a rotor answers, in words."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bench.computation.answer_model import AnswerModel

_NOTHING = 0.005
_STRAIGHT_DEG = 10.0


def in_words(model: AnswerModel, *, plane_names: Sequence[str] = ("front", "rear")) -> tuple[str, ...]:
    """Return how the rotor answers, one sentence a station.

    Parameters
    ----------
    model : AnswerModel
        The model.
    plane_names : Sequence[str]
        Names of the planes; planes beyond them are numbered.

    Returns
    -------
    tuple[str, ...]
        For example "1 g at front takes 0.97 g off the front and 0.14 g off the rear".
    """
    names = [plane_names[p] if p < len(plane_names) else f"plane {p + 1}" for p in range(model.planes)]
    sentences: list[str] = []
    for s, station in enumerate(model.stations):
        order = [station.plane_index, *(p for p in range(model.planes) if p != station.plane_index)]
        parts = [_part(complex(model.effects[p, s]), names[p]) for p in order]
        sentences.append(f"1 g at {station.name} " + " and ".join(parts).replace(" and takes ", " and "))
    return tuple(sentences)


def _part(effect: complex, plane: str) -> str:
    """Return what 1 g does to one plane."""
    size = abs(effect)
    turned = math.degrees(cmath.phase(effect)) if size > 0.0 else 0.0
    if size < _NOTHING:
        return f"takes nothing off the {plane}"
    if abs(turned) <= _STRAIGHT_DEG:
        return f"takes {size:.2f} g off the {plane}"
    if abs(turned) >= 180.0 - _STRAIGHT_DEG:
        return f"adds {size:.2f} g to the {plane}"
    return f"takes {size:.2f} g off the {plane}, turned by {turned:+.0f}°"

"""Every hole answers for itself: it stands a little beside its mark, and stays there when it is deepened."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.computation.cut_scatter import CHIPS_WEIGHED, Cut

if TYPE_CHECKING:
    from bench.computation.answer_model import AnswerModel


@dataclass(frozen=True, slots=True)
class KnownHole:
    """A hole whose answer is known apart.

    Attributes
    ----------
    station : str
        Where it is.
    angle_deg : float
        Where it was asked. [deg]
    name : str
        Of the station that stands for it in the model.
    """

    station: str
    angle_deg: float
    name: str


def by_hole(cuts: Sequence[Cut], known: Sequence[KnownHole]) -> tuple[tuple[Cut, ...], tuple[KnownHole, ...]]:
    """Return cuts with the hole they are in as their station.

    Parameters
    ----------
    cuts : Sequence[Cut]
        With stations of the rotor.
    known : Sequence[KnownHole]
        The holes made before.

    Returns
    -------
    tuple[tuple[Cut, ...], tuple[KnownHole, ...]]
        The cuts, and all holes with those that are new.
    """
    holes, named = list(known), list[Cut]()
    for cut in cuts:
        here = [h for h in holes if h.station == cut.station] if cut.deepens else []
        hole = min(here, key=lambda h: abs(math.remainder(h.angle_deg - cut.angle_deg, 360.0)), default=None)
        if hole is None:
            hole = KnownHole(cut.station, cut.angle_deg, f"{cut.station} hole {len(holes) + 1}")
            holes.append(hole)
        # where the hole is belongs to its answer, so that the cut itself strays along its direction only
        named.append(replace(cut, station=hole.name, deepens=True))
    return tuple(named), tuple(holes)


def with_holes(model: AnswerModel, holes: Sequence[KnownHole], cuts: Sequence[Cut]) -> AnswerModel:
    """Return a model in which holes are stations of their own.

    Parameters
    ----------
    model : AnswerModel
        With the holes made before.
    holes : Sequence[KnownHole]
        All holes.
    cuts : Sequence[Cut]
        Those that made the new ones, by hole; they wait for their answer then.

    Returns
    -------
    AnswerModel
        What is known of a new hole is what is known of its station, and how far a hole strays from its mark.

    Notes
    -----
    Source: augmentation of a Kalman filter's state; a hole beside its mark turns the effect on all planes alike.
    """
    import numpy as np

    size = 2 * model.planes
    known = {s.name for s in model.stations}
    for hole in holes:
        if hole.name in known:
            continue
        index = model.station_index(hole.station)
        start = size * (1 + index)
        measured = next((c.measured for c in cuts if c.station == hole.name), False)
        stray = math.radians((CHIPS_WEIGHED if measured else model.scatter).angle_deg)
        effect = model.effects[:, index]
        turned = stray * (1j * effect).view(np.float64)
        rows = model.covariance[start : start + size]
        block = rows[:, start : start + size] + np.outer(turned, turned)
        model = replace(
            model,
            stations=(*model.stations, replace(model.stations[index], name=hole.name)),
            effects=np.column_stack([model.effects, effect]),
            covariance=np.block([[model.covariance, rows.T], [rows, block]]),
        )
    return replace(model, pending=tuple(cuts))

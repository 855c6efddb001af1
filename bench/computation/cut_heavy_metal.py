"""Heavy metal, for what taking metal away cannot reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_reach import Reach
from bench.computation.vectors import Vector

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class HeavyMetal:
    """Metal to put in.

    Attributes
    ----------
    plane_index : int
        Plane.
    station : str
        Station with metal to hold it.
    angle_deg : float
        Where it goes. [deg]
    net_g : float
        What it has to weigh more than the metal it replaces, at the correction radius. [g]
    why : str
        In words.
    """

    plane_index: int
    station: str
    angle_deg: float
    net_g: float
    why: str


def heavy_metal_for(
    model: AnswerModel, *, reaches: Sequence[Reach], mix: Complexes, tolerance_g: Sequence[float]
) -> tuple[HeavyMetal, ...]:
    """Return the metal to put in where what has to go lies out of reach of every cut.

    Parameters
    ----------
    model : AnswerModel
        What is known.
    reaches : Sequence[Reach]
        What the cuts of each plane reach.
    mix : numpy.ndarray
        Stations of a gram of each plane, stations x planes, complex.
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]

    Returns
    -------
    tuple[HeavyMetal, ...]
        One a plane that cannot be served; metal goes opposite to the excess where the arc holds it, else at the
        arc's edge that is nearest. Empty when cuts reach everything.
    """
    import numpy as np

    wanted = np.linalg.solve(model.effects @ mix, model.left)
    proposals: list[HeavyMetal] = []
    for p, (reach, need) in enumerate(zip(reaches, wanted, strict=True)):
        missed = complex(need) - reach.nearest(complex(need))
        if abs(missed) <= tolerance_g[p]:
            continue
        # metal where the cuts point adds along the reach: the part that no cut can take, mirrored, must fall inside
        into = reach.nearest(-complex(need))
        if abs(into) == 0.0:
            into = reach.nearest(-missed)
        vector = Vector.of(into)
        weights = [abs(complex(mix[s, p])) for s in range(len(model.stations))]
        station = weights.index(max(weights))
        name = model.stations[station].name
        proposals.append(
            HeavyMetal(
                p,
                name,
                vector.angle_deg,
                vector.amount,
                f"{name}: {abs(missed):.1f} g at {Vector.of(complex(need)).angle_deg:.0f}° is where no metal may be "
                f"taken: put in heavy metal worth {vector.amount:.1f} g more than the steel it replaces at "
                f"{vector.angle_deg:.0f}°, then run again",
            )
        )
    return tuple(proposals)

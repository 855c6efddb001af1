"""Whether a rotor is done: the reading, with a guard band for what is not known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_chances import inside_with_guard

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Standing(StrEnum):
    """How a rotor stands after a run."""

    INSIDE = "inside"
    CLOSE = "too close to call"
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class RunVerdict:
    """How every plane stands, and the rotor as a whole.

    Attributes
    ----------
    planes : tuple[Standing, ...]
        One a plane.
    whole : Standing
        The worst of them.
    """

    planes: tuple[Standing, ...]
    whole: Standing


def run_verdict(model: AnswerModel, reading: Sequence[complex], *, tolerance_g: Sequence[float]) -> RunVerdict:
    """Return how the rotor stands after a run.

    Parameters
    ----------
    model : AnswerModel
        What is known, the run taken in.
    reading : Sequence[complex]
        What the machine showed. [g]
    tolerance_g : Sequence[float]
        What may stay in each plane. [g]

    Returns
    -------
    RunVerdict
        Inside only if the reading is inside and the model, which has weighed the reading against what the cuts
        should have left, would still be within 1.1 times the tolerance 1.645 standard deviations further out.

    Notes
    -----
    Source: guarded acceptance as in JCGM 106 at 95 % conformance probability; the factor 1.1 is the project's own.
    """
    import numpy as np

    wide = 2 * model.planes
    shown = np.abs(np.asarray(reading, dtype=np.complex128) - np.array(model.tooling))
    limit = np.array(tolerance_g, dtype=np.float64)
    sure: NDArray[np.bool_] = inside_with_guard(np.abs(model.left), model.covariance[:wide, :wide], limit)
    planes = tuple(
        (Standing.INSIDE if bool(sure[p]) else Standing.CLOSE) if bool(shown[p] <= limit[p]) else Standing.OUTSIDE
        for p in range(model.planes)
    )
    worst = max(planes, key=list(Standing).index)
    return RunVerdict(planes, worst)

"""A part balanced while it is mounted on the balanced crank: the machine shows the crank's planes, the part is cut."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bench.computation.stations import effect_by_statics
from bench.models.job import JobSpec
from bench.models.job_state import JobState, Spin
from bench.models.on_crank import with_all
from bench.models.rotor_set import rotor_name
from bench.use_cases.review_planes import plane_limit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LEAST_SHARE = 0.3
"""Least share of the limit that is aimed at where the rest of it is used up by what is not the part's."""


@dataclass(frozen=True, slots=True)
class PartView:
    """What the machine shows, as what it is on the part.

    Attributes
    ----------
    planes : tuple[str, ...]
        The machine's planes.
    shares : numpy.ndarray
        Grams each plane shows for a gram at each of the part's places, planes x places.
    inverse : numpy.ndarray
        Grams at each place for grams shown, places x planes: least squares, each plane weighed by its limit.
    limits_g : tuple[float, ...]
        Of the machine's planes. [g]
    """

    planes: tuple[str, ...]
    shares: NDArray[np.float64]
    inverse: NDArray[np.float64]
    limits_g: tuple[float, ...]

    def seen(self, shown: Sequence[complex]) -> list[complex]:
        """Return what of a reading can be taken off at the part.

        Parameters
        ----------
        shown : Sequence[complex]
            One a plane. [g]

        Returns
        -------
        list[complex]
            One a place of the part. [g]
        """
        return [complex(value) for value in self.inverse @ shown]

    def rest(self, shown: Sequence[complex]) -> list[complex]:
        """Return what stays in the machine's planes whatever is cut at the part.

        Parameters
        ----------
        shown : Sequence[complex]
            One a plane. [g]

        Returns
        -------
        list[complex]
            One a plane. [g]
        """
        kept = self.shares @ self.seen(shown)
        return [complex(value - part) for value, part in zip(shown, kept, strict=True)]

    def tolerance_g(self, shown: Sequence[complex], *, guard_g: float) -> list[float]:
        """Return how near the part's places must come, so that every plane is within its limit.

        Parameters
        ----------
        shown : Sequence[complex]
            One a plane. [g]
        guard_g : float
            Guard band of a reading. [g]

        Returns
        -------
        list[float]
            One a place. [g]
        """
        rest = [abs(value) for value in self.rest(shown)]
        room = [
            max(limit - guard_g - left, LEAST_SHARE * limit) for limit, left in zip(self.limits_g, rest, strict=True)
        ]
        places = range(self.shares.shape[1])
        count = len(places)
        return [
            min(r / (count * max(abs(float(self.shares[i, place])), 1e-9)) for i, r in enumerate(room))
            for place in places
        ]

    def noise(self) -> float:
        """Return how many times larger the noise of a reading is at the part.

        Returns
        -------
        float
            The largest of its places.
        """
        return max(float((abs(row) ** 2).sum() ** 0.5) for row in self.inverse)


def part_view(spec: JobSpec) -> PartView | None:
    """Return how a part on the crank is seen by the machine.

    Parameters
    ----------
    spec : JobSpec
        With the places of the part in `cut_at`.

    Returns
    -------
    PartView | None
        None where metal goes from the planes themselves.
    """
    if not spec.cut_at:
        return None
    import numpy as np

    limits = tuple(plane_limit(spec, plane)[0] for plane in spec.planes)
    positions = [plane.position_mm for plane in spec.planes]
    shares = np.array(
        [
            [
                effect_by_statics(
                    position_mm=place.position_mm,
                    planes_mm=positions,
                    radius_mm=place.radius_mm,
                    correction_radius_mm=plane.radius_mm,
                )[index].real
                for place in spec.cut_at
            ]
            for index, plane in enumerate(spec.planes)
        ]
    )
    weights = np.diag([1.0 / limit for limit in limits])
    return PartView(tuple(p.name for p in spec.planes), shares, np.linalg.pinv(weights @ shares) @ weights, limits)


def shown_of(state: JobState, spin: Spin) -> list[complex]:
    """Return a run as it counts, one a plane of the machine.

    Parameters
    ----------
    state : JobState
        The job.
    spin : Spin
        One of its runs.

    Returns
    -------
    list[complex]
        The bobweight set's part taken off, what was not mounted added. [g]
    """
    by_name = {amount.plane: amount for amount in with_all(state, spin).planes}
    return [
        cmath.rect(by_name[plane.name].amount_g, math.radians(by_name[plane.name].angle_deg))
        for plane in state.spec.planes
    ]


def not_the_parts(state: JobState, view: PartView) -> str:
    """Return which planes stay outside whatever is cut at the part.

    Parameters
    ----------
    state : JobState
        With a run.
    view : PartView
        How the part is seen.

    Returns
    -------
    str
        A sentence; empty when the part can bring every plane inside.
    """
    rest = [abs(value) for value in view.rest(shown_of(state, state.spins[-1]))]
    over = [
        f"{left:.1f} g in {name}"
        for name, left, limit in zip(view.planes, rest, view.limits_g, strict=True)
        if left > limit
    ]
    if not over:
        return ""
    name = rotor_name(state)
    return (
        f"{' and '.join(over)} would stay whatever is cut at the {name}: that is not the {name}'s. Look at its seat "
        "and run-out, and at the crank. "
    )

"""What a balancing machine's angles mean, from runs with a known mass fastened at known places.

A mass that is fastened to the rotor is excess where it is. What it adds to the reading, at two angles or more, tells
whether the angles run the same way, from where they count, whether the readout shows excess or missing mass, how many
grams it shows for a gram, and which plane is which.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.checks import finite, positive
from bench.computation.errors import QuantityError

LEAST_TURN_DEG = 20.0
_CLEAR = 3.0


@dataclass(frozen=True, slots=True)
class AngleCheck:
    """What the runs say of a machine, against what its profile says.

    Attributes
    ----------
    mirrored : bool
        Whether the angles run the other way round than the profile says.
    turned_by_deg : float
        What is to be added to the angles, once they run the right way. From -180 up to 180. [deg]
    share_shown : float
        Grams shown for a gram that is there.
    far_share : float
        Grams shown in the other plane for a gram that is there.
    misfit_g : float
        Largest distance of a run from what these explain. [g]
    clear : bool
        Whether one sense explains the runs so much better than the other that it can be told.
    planes_swapped : bool
        Whether the mass showed in the other plane.
    """

    mirrored: bool
    turned_by_deg: float
    share_shown: float
    far_share: float
    misfit_g: float
    clear: bool
    planes_swapped: bool

    def agrees(self, *, within_deg: float = 10.0, within_share: float = 0.15) -> bool:
        """Tell whether the profile is right.

        Parameters
        ----------
        within_deg : float
            How far the angles may be off. [deg]
        within_share : float
            How far the amounts may be off, as a share.

        Returns
        -------
        bool
            True when sense, zero and planes are right, the amounts within the share, and all of it is clear.
        """
        return (
            self.clear
            and not self.mirrored
            and not self.planes_swapped
            and abs(self.turned_by_deg) <= within_deg
            and abs(self.share_shown - 1.0) <= within_share
        )

    def in_words(self) -> str:
        """Return what was found, and what to change.

        Returns
        -------
        str
            One to four sentences.
        """
        if not self.clear:
            return (
                "the runs do not tell which way the angles go: fasten a larger mass, farther apart in angle, "
                "and run again"
            )
        if self.agrees():
            return (
                f"the profile is right: angles within {abs(self.turned_by_deg):.0f}°, "
                f"{self.share_shown:.2f} g shown for a gram"
            )
        found: list[str] = []
        if self.planes_swapped:
            found.append("the mass shows in the other plane: the names of the planes are exchanged")
        if self.mirrored:
            found.append("the angles go the other way round than the profile says")
        if abs(abs(self.turned_by_deg) - 180.0) <= 10.0:
            found.append(
                "the readout shows where mass is missing where the profile says excess, or the other way round"
            )
        elif abs(self.turned_by_deg) > 10.0:
            found.append(f"the zero is {self.turned_by_deg:+.0f}° from where the profile says")
        if abs(self.share_shown - 1.0) > 0.15:
            found.append(
                f"{self.share_shown:.2f} g are shown for a gram: check the unit, the correction radius and the "
                "machine's own setting"
            )
        return "; ".join(found)


def check_angles(
    without: Sequence[complex],
    runs: Sequence[Sequence[complex]],
    *,
    plane_index: int,
    mass_g: float,
    at_deg: Sequence[float],
) -> AngleCheck:
    """Return what runs with a known mass say of the machine.

    Parameters
    ----------
    without : Sequence[complex]
        The run without the mass, one value a plane, read as the profile says. [g]
    runs : Sequence[Sequence[complex]]
        Runs with the mass, read the same way. [g]
    plane_index : int
        Where the mass was fastened.
    mass_g : float
        The mass, as grams at the correction radius. [g]
    at_deg : Sequence[float]
        Where it was for each run, counter-clockwise from the zero mark seen from the front. [deg]

    Returns
    -------
    AngleCheck
        Sense, zero, amounts and planes.

    Raises
    ------
    QuantityError
        If there are fewer than two runs, they and the angles are not as many, the angles are too near each other or
        opposite, or a number cannot be.

    Notes
    -----
    Source: least squares for one complex factor c; c e^{i angle} for angles that run the right way, c e^{-i angle} for
    mirrored ones. Two angles half a turn apart cannot tell the two from each other.

    Examples
    --------
    >>> check = check_angles([0j], [[2j], [2 + 0j]], plane_index=0, mass_g=2.0, at_deg=[0.0, 90.0])
    >>> check.mirrored, round(check.turned_by_deg), check.share_shown
    (True, 90, 1.0)
    """
    positive(mass_g, quantity="mass_g")
    if len(runs) < 2:
        raise QuantityError("runs", found=len(runs), wanted="at least two runs with the mass")
    if len(at_deg) != len(runs):
        raise QuantityError("at_deg", found=f"{len(at_deg)} angles", wanted=f"one a run, {len(runs)}")
    planes = len(without)
    if not 0 <= plane_index < planes:
        raise QuantityError("plane_index", found=plane_index, wanted=f"0 to {planes - 1}")
    for index, run in enumerate(runs):
        if len(run) != planes:
            raise QuantityError(f"runs[{index}]", found=f"{len(run)} planes", wanted=f"{planes}, as without the mass")
        for value in run:
            finite(abs(value), quantity=f"runs[{index}]")
    turns = [math.radians(finite(a, quantity="at_deg")) for a in at_deg]
    apart = max(abs(math.sin(a - b)) for a in turns for b in turns)
    if apart < math.sin(math.radians(LEAST_TURN_DEG)):
        raise QuantityError("at_deg", found=list(at_deg), wanted="angles well apart and not opposite, best 90 degrees")
    added = [[run[p] - without[p] for run in runs] for p in range(planes)]
    sizes = [math.hypot(*(abs(a) for a in added[p])) for p in range(planes)]
    shown_in = max(range(planes), key=lambda p: sizes[p])
    if sizes[shown_in] == 0.0:
        raise QuantityError("runs", found="nothing changed by the mass", wanted="runs with the mass on the rotor")
    swapped = shown_in != plane_index and sizes[shown_in] > 1.5 * sizes[plane_index]
    seen = added[shown_in if swapped else plane_index]
    fits = [_fit(seen, turns, mass_g, side) for side in (1.0, -1.0)]
    mirrored = bool(fits[1][1] < fits[0][1])
    factor, misfit = fits[mirrored]
    # the profile's angle a stands for factor e^{+-i a}: to be right it is turned back, after mirroring
    turned = -math.degrees(cmath.phase(factor)) if not mirrored else math.degrees(cmath.phase(factor))
    turned = (turned + 180.0) % 360.0 - 180.0
    far = 0.0
    if planes > 1:
        others = [p for p in range(planes) if p != (shown_in if swapped else plane_index)]
        far = max(abs(_fit(added[p], turns, mass_g, -1.0 if mirrored else 1.0)[0]) for p in others)
    return AngleCheck(
        mirrored=mirrored,
        turned_by_deg=turned,
        share_shown=abs(factor),
        far_share=far,
        misfit_g=misfit,
        clear=bool(fits[not mirrored][1] > _CLEAR * misfit and abs(factor) > 0.05),
        planes_swapped=swapped,
    )


def _fit(seen: Sequence[complex], turns: Sequence[float], mass_g: float, side: float) -> tuple[complex, float]:
    """Return the factor that explains the runs best when angles run this way, and the largest misfit."""
    units = [mass_g * cmath.exp(1j * side * a) for a in turns]
    factor = sum(u.conjugate() * s for u, s in zip(units, seen, strict=True)) / (len(units) * mass_g**2)
    return factor, max(abs(s - factor * u) for s, u in zip(seen, units, strict=True))

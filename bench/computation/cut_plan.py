"""A plan of the next cuts, and what it has to keep."""

from __future__ import annotations

from dataclasses import dataclass

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_heavy_metal import HeavyMetal
from bench.computation.cut_scatter import Cut


@dataclass(frozen=True, slots=True)
class CutLimits:
    """What a plan has to keep.

    Attributes
    ----------
    deviations : float
        How many standard deviations to stay short of going too far, where one run will not do. After the first answer
        the model also allows for effects that are known less than believed: where they are as believed, 3.0 of its
        deviations are about 3.5.
    first_deviations : float
        The same while no answer to a cut has tested the geometry, which is then doubted besides. What geometry leaves
        open is bounded and has no long tails.
    sure_deviations : float
        The same while no answer has tested effects that are not doubted: as they were measured, chance does stray so.
    worst_chance : float
        Chance to go too far, brought by a plan, above which a plan takes less, where it can, and beyond which nothing
        is trimmed.
    most_holes : int
        Limit of holes a plane.
    one_plane : bool
        Whether only the heavier plane is cut before the next run.
    price_too_far : float
        How many runs a rotor that was cut too far is worth; weighs haste against care where one run may do.
    """

    deviations: float = 3.0
    first_deviations: float = 2.65
    sure_deviations: float = 3.05
    worst_chance: float = 0.03
    most_holes: int = 4
    one_plane: bool = False
    price_too_far: float = 26.0

    def deviations_for(self, model: AnswerModel) -> float:
        """Return how many standard deviations to stay short with what is known of a rotor.

        Parameters
        ----------
        model : AnswerModel
            What is known.

        Returns
        -------
        float
            By whether a cut was answered, and whether what is known beforehand is doubted.
        """
        if model.tested:
            return self.deviations
        return self.first_deviations if model.trust.doubt > 1.0 else self.sure_deviations


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The next cuts, or why there are none.

    Attributes
    ----------
    cuts : tuple[Cut, ...]
        What to take; empty when nothing should be taken now.
    left : tuple[complex, ...]
        What the next run should show. [g]
    uncertainty_g : tuple[float, ...]
        Standard deviation of that, reading noise included, the larger component of each plane. [g]
    chance_done : float
        Chance that the next run passes.
    chance_too_far : float
        Chance that metal would have to be added afterwards.
    why : str
        In words.
    spin_again : bool
        Whether a run without a cut is the better next step.
    chance_beyond_now : float
        Chance that metal would have to be added even if nothing more is cut, as far as is known.
    chance_cornered : float
        Chance that what is left then can no longer be brought well inside by taking metal: that costs runs.
    heavy_metal : tuple[HeavyMetal, ...]
        Proposed where taking metal cannot reach the tolerance.
    """

    cuts: tuple[Cut, ...]
    left: tuple[complex, ...]
    uncertainty_g: tuple[float, ...]
    chance_done: float
    chance_too_far: float
    why: str
    spin_again: bool = False
    chance_beyond_now: float = 0.0
    chance_cornered: float = 0.0
    heavy_metal: tuple[HeavyMetal, ...] = ()

    @property
    def chance_added(self) -> float:
        """Chance to go too far that the cuts bring, beyond what stands already."""
        return max(0.0, self.chance_too_far - self.chance_beyond_now)

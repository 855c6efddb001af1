"""Does a run make sense after the cuts that were made; if not, what most likely happened and what to do now.

Every mistake that is considered says what the run should then have shown. A run after cuts is judged by how much more
like those it is than like the forecast, and by how rarely chance does the same; a run without a cut by its distance
from the forecast (chi-square of the innovation). On an alarm the most likely mistake is named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.sense_checks_alarm import chance_of_looking_wrong, expected_run
from bench.computation.sense_checks_causes import Cause, Suspicion, suspicions

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]

ALARM_CHANCE = 0.01
_PLAINLY_OUT = 1e-4
_OPEN_TO_DOUBT = 0.8
_WORTH_NAMING = 0.1

_DO = {
    Cause.CHANCE: "spin again without a cut; if it stays, look at the bobweights and at the last holes",
    Cause.MIRRORED: "measure one hole's angle from the mark by hand before the next cut, and check which way round the "
    "readout counts",
    Cause.MIRRORED_IN_ARC: "measure the holes from the middle of the counterweight before the next cut",
    Cause.OPPOSITE: "check whether the readout shows where to take or where to add, before the next cut",
    Cause.ANGLE_OFF: "measure the holes' angles from the mark and correct the cut log before the next cut",
    Cause.TWICE: "measure the depths and correct the cut log before the next cut",
    Cause.TWICE_ONE_HOLE: "measure the depths and correct the cut log before the next cut",
    Cause.OTHER_PLANE: "look which end has the fresh holes and correct the cut log before the next cut",
    Cause.SLIPPED: "check and re-seat the bobweights, then spin again without a cut",
    Cause.OUNCES: "check the unit the machine is set to, then spin again without a cut",
    Cause.RUN_PLANES: "check which plane the machine calls first, then spin again without a cut",
}


@dataclass(frozen=True, slots=True)
class Explanation:
    """Something that may have happened, with its chance once the run is known.

    Attributes
    ----------
    cause : Cause
        What.
    chance : float
        How likely among all that is considered.
    plane_index : int or None
        The plane it happened in.
    by_deg : float or None
        For a hole beside its mark: how far. [deg]
    """

    cause: Cause
    chance: float
    plane_index: int | None
    by_deg: float | None


@dataclass(frozen=True, slots=True)
class SenseCheck:
    """Whether a run makes sense.

    Attributes
    ----------
    alarm : bool
        Whether chance alone would be this far out less often than once in a hundred runs.
    distance : float
        Squared Mahalanobis distance of the run from the forecast.
    chance : float
        How often chance alone would look at least as wrong.
    explanations : tuple[Explanation, ...]
        Most likely first, one a cause, chance after the likeliest mistake where that is worth naming; empty without an
        alarm.
    spin_first : bool
        Whether a run without a cut would tell a moved bobweight from a bad cut.
    """

    alarm: bool
    distance: float
    chance: float
    explanations: tuple[Explanation, ...]
    spin_first: bool

    def in_words(self, *, plane_names: Sequence[str] = ("front", "rear")) -> str:
        """Return what happened and what to do.

        Parameters
        ----------
        plane_names : Sequence[str]
            Names of the planes.

        Returns
        -------
        str
            One or two sentences.
        """
        if not self.alarm:
            return "the run is where it was expected"
        first = self.explanations[0]
        where = f" at the {plane_names[first.plane_index]}" if first.plane_index is not None else ""
        off = f", about {abs(first.by_deg):.0f}°" if first.by_deg is not None else ""
        rare = f"by chance this happens in {self.chance:.1%} of runs" if self.chance >= 0.0005 else "not by chance"
        if first.cause is Cause.CHANCE:
            return (
                f"the run is not where it was expected ({rare}) and nothing considered explains it: {_DO[first.cause]}"
            )
        spin = "; a run without a cut would tell" if self.spin_first and "spin again" not in _DO[first.cause] else ""
        luck = next((e.chance for e in self.explanations if e.cause is Cause.CHANCE), 0.0)
        likely = (
            f"It may be chance ({luck:.0%}); if not, most likely"
            if luck > first.chance
            else f"Most likely ({first.chance:.0%})"
        )
        return (
            f"the run is not where it was expected ({rare}). {likely}: "
            f"{first.cause.value}{where}{off}. Now: {_DO[first.cause]}{spin}"
        )


def check_sense(model: AnswerModel, reading: Sequence[complex]) -> SenseCheck:
    """Return whether a run makes sense, before it is taken in.

    Parameters
    ----------
    model : AnswerModel
        The model with the cuts made since the last run.
    reading : Sequence[complex]
        What the machine shows, one a plane, where the excess is. [g]

    Returns
    -------
    SenseCheck
        Alarm and explanations.

    Raises
    ------
    QuantityError
        If the reading cannot be, or no run was taken in before.
    """
    import numpy as np

    innovation = model.update(reading)[1]
    shown = np.asarray(reading, dtype=np.complex128) - np.array(model.tooling)
    considered = list(suspicions(model))
    chance = innovation.chance
    # what is this far out needs no finer test
    if model.pending and chance >= _PLAINLY_OUT:
        chance = chance_of_looking_wrong(model, list(shown), considered)
    alarm = not chance >= ALARM_CHANCE
    if not alarm:
        return SenseCheck(alarm, innovation.distance, chance, (), spin_first=False)
    found = [(math.log(s.weight) + _log_likelihood(model, s, shown), s) for s in considered]
    most = max(log for log, _ in found)
    total = sum(math.exp(log - most) for log, _ in found)
    by_cause: dict[tuple[Cause, int | None], tuple[float, float, Suspicion]] = {}
    for log, s in found:
        share = math.exp(log - most) / total
        key = (s.cause, s.plane_index)
        before = by_cause.get(key, (0.0, -1.0, s))
        by_cause[key] = (before[0] + share, max(before[1], share), s if share > before[1] else before[2])
    ranked = sorted(by_cause.values(), key=lambda item: -item[0])
    if ranked[0][2].cause is Cause.CHANCE and ranked[1][0] >= _WORTH_NAMING:
        # after an alarm the question is what went wrong, if anything did
        ranked[:2] = ranked[1], ranked[0]
    explanations = tuple(
        Explanation(s.cause, chance, s.plane_index, s.by_deg) for chance, _, s in ranked if chance >= 0.01
    )
    slip = sum(e.chance for e in explanations if e.cause in {Cause.SLIPPED, Cause.CHANCE})
    doubtful = slip > 1.0 - _OPEN_TO_DOUBT or explanations[0].chance < _OPEN_TO_DOUBT
    return SenseCheck(
        alarm,
        innovation.distance,
        chance,
        explanations,
        spin_first=bool(model.pending) and doubtful,
    )


def _log_likelihood(model: AnswerModel, suspicion: Suspicion, shown: NDArray[np.complex128]) -> float:
    """Return how well a suspicion explains a run."""
    import numpy as np

    mean, covariance = expected_run(model, suspicion)
    parts = shown.view(np.float64) - mean
    return -0.5 * (float(parts @ np.linalg.solve(covariance, parts)) + float(np.linalg.slogdet(covariance)[1]))

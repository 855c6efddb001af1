"""Does a run make sense after the cuts that were made; if not, what most likely happened and what to do now.

Every mistake that is considered says what the run should then have shown. A run after cuts is judged by how much more
like those it is than like the forecast, and by how rarely chance does the same; a run without a cut by its distance
from the forecast (chi-square of the innovation). On an alarm the most likely mistake is named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bench.computation.answer_model import AnswerModel
from bench.computation.sense_checks_alarm import ExpectedRuns
from bench.computation.sense_checks_beliefs import Beliefs
from bench.computation.sense_checks_causes import Cause, Suspicion, suspicions

# as counted here, with room to one in a hundred: what is believed is not quite what is so
ALARM_CHANCE = 0.009
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
        Whether chance alone would be this far out in about one run of a hundred, or less often.
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
        slip = next((e.chance for e in self.explanations[1:] if e.cause is Cause.SLIPPED), 0.0)
        other = f", or a bobweight moved ({slip:.0%})" if slip >= _WORTH_NAMING else ""
        return (
            f"the run is not where it was expected ({rare}). {likely}: "
            f"{first.cause.value}{where}{off}{other}. Now: {_DO[first.cause]}{spin}"
        )


@dataclass(frozen=True, slots=True, eq=False)
class NextRun:
    """What is expected of the next run, and the judgement of any reading against it. An immutable value.

    Attributes
    ----------
    model : AnswerModel
        The planner's model with the cuts made since the last run.
    expected : ExpectedRuns
        What the run should show, undisturbed and for every mistake that is considered.
    """

    model: AnswerModel
    expected: ExpectedRuns

    @classmethod
    def of(cls, model: AnswerModel, beliefs: Beliefs | None = None) -> NextRun:
        """Return what is expected.

        Parameters
        ----------
        model : AnswerModel
            The planner's model with the cuts made since the last run.
        beliefs : Beliefs | None
            What is believed from the same runs and cuts; None believes the planner's model alone.

        Returns
        -------
        NextRun
            For any number of readings.
        """
        known = (Beliefs.alone(model) if beliefs is None else beliefs).before_run(model)
        return cls(model, ExpectedRuns.of(known, suspicions(known.models[0])))

    def check(self, reading: Sequence[complex]) -> SenseCheck:
        """Return whether a run makes sense, before it is taken in.

        Parameters
        ----------
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
        distance = self.model.update(reading)[1].distance
        shown = list(self.model.freed(reading))
        chance = _chance_by_distance(self.expected.beliefs, reading)
        # what is this far out needs no finer test
        if self.model.pending and chance >= _PLAINLY_OUT:
            chance = self.expected.chance_of_looking_wrong(shown)
        alarm = not chance >= ALARM_CHANCE
        if not alarm:
            return SenseCheck(alarm, distance, chance, (), spin_first=False)
        explanations = _explanations(self.expected, shown)
        slip, luck = (
            sum(e.chance for e in explanations if e.cause is cause) for cause in (Cause.SLIPPED, Cause.CHANCE)
        )
        open_to_doubt = slip + luck > 1.0 - _OPEN_TO_DOUBT or explanations[0].chance < _OPEN_TO_DOUBT
        doubtful = slip >= _WORTH_NAMING or open_to_doubt
        return SenseCheck(alarm, distance, chance, explanations, spin_first=bool(self.model.pending) and doubtful)


def check_sense(model: AnswerModel, reading: Sequence[complex], beliefs: Beliefs | None = None) -> SenseCheck:
    """Return whether a run makes sense, before it is taken in.

    Parameters
    ----------
    model : AnswerModel
        The planner's model with the cuts made since the last run.
    reading : Sequence[complex]
        What the machine shows, one a plane, where the excess is. [g]
    beliefs : Beliefs | None
        What is believed from the same runs and cuts; None believes the planner's model alone.

    Returns
    -------
    SenseCheck
        Alarm and explanations.

    Raises
    ------
    QuantityError
        If the reading cannot be, or no run was taken in before.
    """
    return NextRun.of(model, beliefs).check(reading)


def _chance_by_distance(beliefs: Beliefs, reading: Sequence[complex]) -> float:
    """Return how often chance alone would be as far out (chi-square), whichever belief is true."""
    return sum(
        math.exp(log) * model.update(reading)[1].chance
        for model, log in zip(beliefs.models, beliefs.log_shares, strict=True)
    )


def _explanations(expected: ExpectedRuns, shown: Sequence[complex]) -> tuple[Explanation, ...]:
    """Return what most likely happened, by Bayes' rule."""
    import numpy as np

    run = np.asarray(shown, dtype=np.complex128).view(np.float64)[None]
    logs = np.log([s.weight for s in expected.found]) + expected.log_likelihoods(run)[:, 0]
    shares = np.exp(logs - logs.max())
    by_cause: dict[tuple[Cause, int | None], tuple[float, float, Suspicion]] = {}
    for share, s in zip((shares / shares.sum()).tolist(), expected.found, strict=True):
        key = (s.cause, s.plane_index)
        before = by_cause.get(key, (0.0, -1.0, s))
        by_cause[key] = (before[0] + share, max(before[1], share), s if share > before[1] else before[2])
    ranked = sorted(by_cause.values(), key=lambda item: -item[0])
    if ranked[0][2].cause is Cause.CHANCE and ranked[1][0] >= _WORTH_NAMING:
        # after an alarm the question is what went wrong, if anything did
        ranked[:2] = ranked[1], ranked[0]
    return tuple(Explanation(s.cause, chance, s.plane_index, s.by_deg) for chance, _, s in ranked if chance >= 0.01)

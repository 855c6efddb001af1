"""What the checks of sense know of a rotor: all its runs and cuts, believed to the letter, in several ways.

The planner's model grows wider with every answer, so that no cut goes too far; what hides in that width is no alarm.
Here the same runs and cuts are taken in by several models that are never widened: one trusts geometry and drill as it
is told to, the others one of them half as much. The answers so far say how far each is to be believed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.computation.answer_model import AnswerModel
from bench.computation.cut_scatter import CutScatter
from bench.computation.cut_trust import Trust, lever_covariance
from bench.computation.sense_checks_holes import KnownHole, by_hole, with_holes

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Complexes = NDArray[np.complex128]
    Reals = NDArray[np.float64]

_TWICE = 2.0
# how likely it is beforehand that an effect on the own plane, one on another plane, or the drill strays twice as far
_OWN, _CROSS, _DRILL = 0.01, 0.01, 0.005
# a hole acts on another plane in its own direction (lever rule), so across it little is left to be unsure of
_ACROSS = 0.35


@dataclass(frozen=True, slots=True, eq=False)
class Beliefs:
    """What is believed of a rotor between two runs. An immutable value.

    Attributes
    ----------
    models : tuple[AnswerModel, ...]
        One a belief, without cuts that wait.
    log_shares : tuple[float, ...]
        Logarithm of how far each is believed.
    holes : tuple[KnownHole, ...]
        The holes made so far; in the models each is a station of its own.
    """

    models: tuple[AnswerModel, ...]
    log_shares: tuple[float, ...]
    holes: tuple[KnownHole, ...] = ()

    @classmethod
    def start(cls, model: AnswerModel) -> Beliefs:
        """Return what is believed before the first run.

        Parameters
        ----------
        model : AnswerModel
            The planner's, before its first run.

        Returns
        -------
        Beliefs
            `first_reading` comes next.

        Notes
        -----
        Source: that rigid rotors answer by the lever rule, in the hole's own direction at both planes, is statics; how
        likely each belief is beforehand is judgement, set on simulated cranks that are used for nothing else.
        """
        trust = _by_the_lever(model.trust)
        drill = model.scatter
        wide = CutScatter(_TWICE * drill.share, _TWICE * drill.grams, _TWICE * drill.angle_deg)
        ways = (
            (1.0 - _OWN - _CROSS - _DRILL, trust, drill),
            (_OWN, replace(trust, own=_TWICE * trust.own), drill),
            (
                _CROSS,
                replace(trust, cross=_TWICE * trust.cross, cross_turned=_TWICE * trust.cross_turned),
                drill,
            ),
            (_DRILL, trust, wide),
        )
        models: list[AnswerModel] = []
        for _, way, scatter in ways:
            covariance = model.covariance.copy()
            size = 2 * model.planes
            covariance[size:, size:] = lever_covariance(model.stations, way)
            models.append(replace(model, trust=way, scatter=scatter, covariance=covariance))
        return cls(tuple(models), tuple(math.log(share) for share, *_ in ways))

    @classmethod
    def alone(cls, model: AnswerModel) -> Beliefs:
        """Return a model as the only belief.

        Parameters
        ----------
        model : AnswerModel
            Any, after its first run.

        Returns
        -------
        Beliefs
            Of one.
        """
        return cls((model,), (0.0,))

    def first_reading(self, reading: Sequence[complex]) -> Beliefs:
        """Return what is believed after the first run, or after one that begins anew with what is known of the answer.

        Parameters
        ----------
        reading : Sequence[complex]
            What the machine shows, one a plane, where the excess is. [g]

        Returns
        -------
        Beliefs
            Ready for the next run.

        Raises
        ------
        QuantityError
            If the reading has another number of planes or is not finite.
        """
        return replace(self, models=tuple(model.first_reading(reading) for model in self.models))

    def before_run(self, model: AnswerModel) -> Beliefs:
        """Return what is believed once cuts were made.

        Parameters
        ----------
        model : AnswerModel
            The planner's, with the cuts that wait and the noise learnt so far.

        Returns
        -------
        Beliefs
            The same cuts wait for their answer, by hole.
        """
        cuts, holes = by_hole(model.pending, self.holes)
        models = (with_holes(replace(m, noise_g=model.noise_g), holes, cuts) for m in self.models)
        return replace(self, models=tuple(models), holes=holes)

    def after_run(self, model: AnswerModel, reading: Sequence[complex]) -> Beliefs:
        """Return what is believed after a run that made sense.

        Parameters
        ----------
        model : AnswerModel
            The planner's, before it takes the run in.
        reading : Sequence[complex]
            What the machine shows, one a plane, where the excess is. [g]

        Returns
        -------
        Beliefs
            Every belief has learnt, and those that expected the run more are believed more.

        Raises
        ------
        QuantityError
            If the reading has another number of planes or is not finite.

        Notes
        -----
        Source: a bank of Kalman filters that are weighed by the likelihood of what they were shown (static multiple
        models).
        """
        before = self.before_run(model)
        learnt = [_plainly(m, m.freed(reading)) for m in before.models]
        logs = [log + more for log, (_, more) in zip(self.log_shares, learnt, strict=True)]
        most = max(logs)
        total = most + math.log(sum(math.exp(log - most) for log in logs))
        return Beliefs(tuple(m for m, _ in learnt), tuple(log - total for log in logs), before.holes)


def _by_the_lever(trust: Trust) -> Trust:
    """Return a trust in a rigid rotor: not for effects of which not even the direction is known."""
    trust = replace(trust, doubt=1.0, cross_shared=1.0)
    if not trust.knows_directions:
        return trust
    return replace(trust, cross_turned=_ACROSS * trust.cross_turned)


def _plainly(model: AnswerModel, shown: Complexes) -> tuple[AnswerModel, float]:
    """Return a model after a run, nothing widened, and the logarithm of the run's likelihood (a constant apart)."""
    import numpy as np

    size = 2 * model.planes
    taken = model.taken_by_station(model.pending)
    spread, cross = model.moved(taken, 1.0)
    left = spread + model.scattered(model.pending)
    whole = left + np.eye(size) * model.noise_g**2
    expected = model.left - model.effects @ taken
    parts = (shown - expected).view(np.float64)
    rows = np.hstack([left, cross[:, size:]])
    covariance = model.covariance.copy()
    covariance[:size, :], covariance[:, :size] = rows, rows.T
    gain = np.linalg.solve(whole, rows).T
    state = np.concatenate([expected.view(np.float64), model.effects.T.copy().view(np.float64).ravel()]) + gain @ parts
    covariance = covariance - gain @ rows
    likely = -0.5 * (float(parts @ np.linalg.solve(whole, parts)) + float(np.linalg.slogdet(whole)[1]))
    learnt = replace(
        model,
        left=state[:size].copy().view(np.complex128),
        effects=state[size:].copy().view(np.complex128).reshape(len(model.stations), model.planes).T.copy(),
        covariance=0.5 * (covariance + covariance.T),
        pending=(),
        readings=model.readings + 1,
        tested=model.tested or bool(model.pending),
    )
    return learnt, likely

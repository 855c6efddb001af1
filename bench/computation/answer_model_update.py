"""How the answer model learns from a run."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from bench.computation.answer_model_algebra import chance_beyond, mixed
from bench.computation.answer_model_forecast import Innovation

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bench.computation.answer_model import AnswerModel

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

# How many times wider than believed the effects may really be, and how likely each is before the first answer.
_WIDER_AT_FIRST = ((1.0, 0.70), (1.6, 0.22), (2.5, 0.08))
_WIDER_LATER = ((1.0, 0.95), (2.0, 0.05))
_NOISE_PRIOR_WEIGHT = 8.0


def learnt_from(model: AnswerModel, shown: Complexes) -> tuple[AnswerModel, Innovation]:
    """Return the model after a run, and how far the run was from what was expected.

    Parameters
    ----------
    model : AnswerModel
        The model with the cuts made since the last run.
    shown : numpy.ndarray
        The reading without the tooling's part, complex. [g]

    Returns
    -------
    tuple[AnswerModel, Innovation]
        The model that learnt from the run, and the surprise.

    Notes
    -----
    Source: Kalman filter with the effects in the state; an answer to cuts is weighed against effects that are known
    less than believed (Bayesian model averaging, collapsed to its first two moments).
    """
    import numpy as np

    size = 2 * model.planes
    taken = model.taken_by_station(model.pending)
    expected = model.left - model.effects @ taken
    surprise = shown - expected
    parts = surprise.view(np.float64)
    extra = model.scattered(model.pending) + np.eye(size) * model.noise_g**2
    weights: list[float] = []
    states: list[Reals] = []
    covariances: list[Reals] = []
    state = np.concatenate([expected.view(np.float64), model.effects.T.copy().view(np.float64).ravel()])
    believed = _beliefs(model)
    wholes: list[Reals] = []
    for wider, weight in believed:
        spread, cross = model.moved(taken, wider)
        whole = spread + extra
        covariance = _covariance_with(model, spread + model.scattered(model.pending), cross, wider)
        gain = np.linalg.solve(whole, covariance[:size, :]).T
        states.append(state + gain @ parts)
        covariances.append(covariance - gain @ covariance[:size, :])
        distance = float(parts @ np.linalg.solve(whole, parts))
        weights.append(math.log(weight) - 0.5 * (distance + float(np.linalg.slogdet(whole)[1])))
        wholes.append(whole)
    distance = float(parts @ np.linalg.solve(wholes[0], parts))
    mean, covariance = mixed(weights, states, covariances)
    learnt = replace(
        model,
        left=mean[:size].copy().view(np.complex128),
        effects=mean[size:].copy().view(np.complex128).reshape(len(model.stations), model.planes).T.copy(),
        covariance=covariance,
        pending=(),
        readings=model.readings + 1,
        tested=model.tested or bool(model.pending),
    )
    if not model.pending:
        learnt = _with_noise_of(learnt, parts, wholes[0])
    return learnt, Innovation(
        tuple(complex(s) for s in surprise), wholes[0], distance, chance_beyond(distance, model.planes)
    )


def _beliefs(model: AnswerModel) -> tuple[tuple[float, float], ...]:
    """Return how many times wider the effects may be than believed, with the chance of each, as believed first."""
    if not model.pending:
        return ((1.0, 1.0),)
    # a geometry that is not doubted is not thought wider either
    return _WIDER_LATER if model.tested or model.trust.doubt <= 1.0 else _WIDER_AT_FIRST


def _covariance_with(model: AnswerModel, spread: Reals, cross: Reals, wider: float) -> Reals:
    """Return the covariance of the whole state after cuts, effects trusted `wider` times less."""
    size = 2 * model.planes
    covariance: Reals = model.covariance.copy()
    covariance[size:, size:] *= wider**2
    covariance[:size, size:] = cross[:, size:] * wider
    covariance[size:, :size] = covariance[:size, size:].T
    covariance[:size, :size] = spread
    return covariance


def _with_noise_of(model: AnswerModel, parts: Reals, whole: Reals) -> AnswerModel:
    """Return the model with its noise corrected by a run that was repeated without a cut."""
    import numpy as np

    ratio = float(parts @ np.linalg.solve(whole, parts)) / len(parts)
    weight = _NOISE_PRIOR_WEIGHT + model.repeats * len(parts)
    # a repeat that is far out is a slip or a bump, not noise: it counts as three deviations at most
    pooled = (weight + len(parts) * min(ratio, 9.0)) / (weight + len(parts))
    return replace(model, noise_g=model.noise_g * math.sqrt(pooled), repeats=model.repeats + 1)

"""How rarely chance alone looks as much like a mistake as a run does.

The test of a run against its forecast that finds the mistakes considered most often, at a given share of false alarms,
is the ratio of likelihoods: of all mistakes, each with its weight, over that of the undisturbed case. How large chance
alone makes that ratio is found by trying it on the forecast itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING

from bench.computation.cut_chances import normal_points
from bench.computation.sense_checks_beliefs import Beliefs
from bench.computation.sense_checks_causes import Cause, Suspicion

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bench.computation.answer_model import AnswerModel

    Reals = NDArray[np.float64]

_FEW_POINTS, _POINTS = 512, 4096
_NO_ALARM = 0.1  # a chance like this, from few points, needs no more of them
_LEAST = 16  # a belief has at least one point in so many
_ANYTHING_WEIGHT = 0.004
_ANYTHING_WIDER = 4.0


def expected_run(model: AnswerModel, suspicion: Suspicion) -> tuple[Reals, Reals]:
    """Return what a run should show if a suspicion is true.

    Parameters
    ----------
    model : AnswerModel
        The model before the run is taken in.
    suspicion : Suspicion
        What may have happened.

    Returns
    -------
    tuple[numpy.ndarray, numpy.ndarray]
        Mean [g] and covariance [g^2] of the reading, real and imaginary parts in turn.
    """
    import numpy as np

    forecast = model.with_cuts(suspicion.cuts).forecast()
    covariance = forecast.covariance if suspicion.shift is None else forecast.covariance + suspicion.shift
    mean = (forecast.left * suspicion.factor).view(np.float64)
    covariance = covariance * suspicion.factor**2 + np.eye(2 * model.planes) * model.noise_g**2
    if suspicion.swapped:
        # two planes: the second comes first
        order = [2, 3, 0, 1]
        mean, covariance = mean[order], covariance[np.ix_(order, order)]
    return mean, covariance


def log_likelihoods(beliefs: Beliefs, found: Sequence[Suspicion], runs: Reals) -> Reals:
    """Return how likely runs are under every suspicion, whichever belief is true.

    Parameters
    ----------
    beliefs : Beliefs
        What is believed before the run.
    found : Sequence[Suspicion]
        What is considered.
    runs : Reals
        What the machine shows, without the tooling's part: one run a row, real and imaginary parts in turn. [g]

    Returns
    -------
    numpy.ndarray
        Logarithm of the density, a constant apart, suspicions x runs.
    """
    return _mixed(beliefs, *_expected_runs(beliefs, found), runs)


def chance_of_looking_wrong(beliefs: Beliefs, reading: Sequence[complex], found: Sequence[Suspicion]) -> float:
    """Return how often a run without any mistake looks at least as much like one.

    Parameters
    ----------
    beliefs : Beliefs
        What is believed before the run.
    reading : Sequence[complex]
        What the machine shows, without the tooling's part, complex. [g]
    found : Sequence[Suspicion]
        What is considered, the undisturbed case among them.

    Returns
    -------
    float
        From 0 to 1; with a single belief to 1 in 4,096, and where it is no matter of alarm to 1 in 512.

    Notes
    -----
    Source: Neyman and Pearson's lemma, with the mistakes mixed by their weights; a mistake that nobody thought of is
    in the mixture as a run four times wider than its forecast. The distribution under the forecast is found with
    fixed points, shared out among the beliefs (stratified sampling).
    """
    import numpy as np

    considered = sorted(found, key=lambda s: s.cause is not Cause.CHANCE)
    means, covariances = _expected_runs(beliefs, considered)
    # and, last, a run much wider than its forecast
    count = len(beliefs.models)
    everything = np.concatenate([means, means[:count]])
    spreads = np.concatenate([covariances, covariances[:count] * _ANYTHING_WIDER**2])
    weights = np.log([*(s.weight for s in considered[1:]), _ANYTHING_WEIGHT])[:, None]
    shares = np.exp(beliefs.log_shares)
    shown = np.asarray(reading, dtype=np.complex128).view(np.float64)
    roots = np.linalg.cholesky(covariances[:count])
    chance = 0.0
    for points in (_FEW_POINTS, _POINTS):
        strata = _points_by_share(shares, len(shown), points)
        drawn = [mean + few @ root.T for mean, few, root in zip(means, strata, roots, strict=False)]
        logs = _mixed(beliefs, everything, spreads, np.vstack([shown, *drawn]))
        ratio = _log_of_sum(weights + logs[1:]) - logs[0]
        ends = list(accumulate((len(few) for few in strata), initial=1))
        beyond = [float(np.count_nonzero(ratio[a:b] >= ratio[0])) / (b - a) for a, b in pairwise(ends)]
        chance = float(shares @ beyond)
        if chance >= _NO_ALARM:
            break
    return chance


def _expected_runs(beliefs: Beliefs, found: Sequence[Suspicion]) -> tuple[Reals, Reals]:
    """Return means and covariances of the run, belief after belief for suspicion after suspicion."""
    import numpy as np

    expected = [expected_run(model, suspicion) for suspicion in found for model in beliefs.models]
    return np.array([mean for mean, _ in expected]), np.array([covariance for _, covariance in expected])


def _mixed(beliefs: Beliefs, means: Reals, covariances: Reals, runs: Reals) -> Reals:
    """Return the logarithm of the density of runs, beliefs mixed: suspicions x runs."""
    import numpy as np

    each = _log_densities(runs, means, covariances).reshape(-1, len(beliefs.models), len(runs))
    return _log_of_sum(each + np.array(beliefs.log_shares)[:, None])


def _points_by_share(shares: Reals, wide: int, count: int) -> list[Reals]:
    """Return standard normal points for every belief, more where more is believed, each with its mirror image."""
    import numpy as np

    half = normal_points(wide, count)[: count // 2]
    counts = np.maximum((shares * len(half)).astype(np.int64), len(half) // _LEAST if len(shares) > 1 else len(half))
    counts[np.argmax(shares)] -= counts.sum() - len(half)
    ends = list(accumulate(counts.tolist(), initial=0))
    chunks = [half[a:b] for a, b in pairwise(ends)]
    return [np.concatenate([chunk, -chunk]) for chunk in chunks]


def _log_of_sum(logs: Reals) -> Reals:
    """Return the logarithm of the sum of what has these logarithms, over the last axis but one."""
    import numpy as np

    most = logs.max(axis=-2, keepdims=True)
    answer: Reals = np.log(np.exp(logs - most).sum(axis=-2)) + most[..., 0, :]
    return answer


def _log_densities(runs: Reals, means: Reals, covariances: Reals) -> Reals:
    """Return the logarithm of every normal density at every run, a constant apart: densities x runs.

    The squared distance is a polynomial of the run's parts, so one product of matrices gives all of them.
    """
    import numpy as np

    middle = means[0]
    roots = np.linalg.cholesky(covariances)
    precise = np.linalg.inv(covariances)
    off = means - middle
    pulled = np.einsum("gij,gj->gi", precise, off)
    first, second = np.triu_indices(len(middle))
    twice = np.where(first == second, 1.0, 2.0)
    at = runs - middle
    square = (precise[:, first, second] * twice) @ (at[:, first] * at[:, second]).T
    square -= 2.0 * pulled @ at.T
    square += np.einsum("gi,gi->g", pulled, off)[:, None]
    sizes = np.log(np.diagonal(roots, axis1=1, axis2=2)).sum(axis=1)
    answer: Reals = -0.5 * square - sizes[:, None]
    return answer

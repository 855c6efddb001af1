"""How rarely chance alone looks as much like a mistake as a run does.

The test of a run against its forecast that finds the mistakes considered most often, at a given share of false alarms,
is the ratio of likelihoods: of all mistakes, each with its weight, over that of the undisturbed case. How large chance
alone makes that ratio is found by trying it on the forecast itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from bench.computation.cut_chances import normal_points
from bench.computation.sense_checks_causes import Cause, Suspicion

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from bench.computation.answer_model import AnswerModel

    Reals = NDArray[np.float64]

_POINTS = 4096
_ANYTHING_WEIGHT = 0.01
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


def chance_of_looking_wrong(model: AnswerModel, reading: Sequence[complex], found: Iterable[Suspicion]) -> float:
    """Return how often a run without any mistake looks at least as much like one.

    Parameters
    ----------
    model : AnswerModel
        The model before the run is taken in.
    reading : Sequence[complex]
        What the machine shows, without the tooling's part, complex. [g]
    found : Iterable[Suspicion]
        What is considered, the undisturbed case among them.

    Returns
    -------
    float
        From 0 to 1, to 1 in 4,096.

    Notes
    -----
    Source: Neyman and Pearson's lemma, with the mistakes mixed by their weights; a mistake that nobody thought of is
    in the mixture as a run four times wider than its forecast. The distribution under the forecast is found with
    4,096 fixed points.
    """
    import numpy as np

    undisturbed, *mistakes = sorted(found, key=lambda s: s.cause is not Cause.CHANCE)
    mean, covariance = expected_run(model, undisturbed)
    runs = np.vstack(
        [
            np.asarray(reading, dtype=np.complex128).view(np.float64),
            mean + normal_points(len(mean), _POINTS) @ np.linalg.cholesky(covariance).T,
        ]
    )
    base = _log_density(runs, mean, covariance)
    beyond: Reals = np.log(_ANYTHING_WEIGHT) + _log_density(runs, mean, covariance * _ANYTHING_WIDER**2)
    for suspicion in mistakes:
        beyond = np.logaddexp(beyond, np.log(suspicion.weight) + _log_density(runs, *expected_run(model, suspicion)))
    ratio: Reals = beyond - base
    return float(np.count_nonzero(ratio[1:] >= ratio[0])) / _POINTS


def _log_density(runs: Reals, mean: Reals, covariance: Reals) -> Reals:
    """Return the logarithm of the normal density at every run, a constant apart."""
    import numpy as np

    root = np.linalg.cholesky(covariance)
    off = np.linalg.solve(root, (runs - mean).T)
    answer: Reals = -0.5 * np.einsum("ij,ij->j", off, off) - np.log(np.diag(root)).sum()
    return answer

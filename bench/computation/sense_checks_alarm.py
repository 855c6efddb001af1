"""How rarely chance alone looks as much like a mistake as a run does.

The test of a run against its forecast that finds the mistakes considered most often, at a given share of false alarms,
is the ratio of likelihoods: of all mistakes, each with its weight, over that of the undisturbed case. How large chance
alone makes that ratio is found by trying it on the forecast itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
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


@dataclass(frozen=True, eq=False)
class ExpectedRuns:
    """What the next run should show, for every suspicion and whichever belief is true. An immutable value.

    Attributes
    ----------
    beliefs : Beliefs
        What is believed before the run.
    found : tuple[Suspicion, ...]
        What is considered, the undisturbed case first.
    means : numpy.ndarray
        Suspicions and beliefs x parts of the reading, belief after belief for suspicion after suspicion. [g]
    covariances : numpy.ndarray
        Of the same, suspicions and beliefs x parts x parts. [g^2]
    """

    beliefs: Beliefs
    found: tuple[Suspicion, ...]
    means: Reals
    covariances: Reals
    _by_chance: dict[int, list[Reals]] = field(default_factory=dict[int, "list[Reals]"], init=False, repr=False)

    @classmethod
    def of(cls, beliefs: Beliefs, found: Iterable[Suspicion]) -> ExpectedRuns:
        """Return what is expected.

        Parameters
        ----------
        beliefs : Beliefs
            What is believed before the run.
        found : Iterable[Suspicion]
            What is considered, the undisturbed case among them.

        Returns
        -------
        ExpectedRuns
            For any number of readings.
        """
        import numpy as np

        considered = tuple(sorted(found, key=lambda s: s.cause is not Cause.CHANCE))
        expected = [expected_run(model, suspicion) for suspicion in considered for model in beliefs.models]
        means, covariances = (np.array(parts) for parts in zip(*expected, strict=True))
        return cls(beliefs, considered, means, covariances)

    def log_likelihoods(self, runs: Reals) -> Reals:
        """Return how likely runs are under every suspicion.

        Parameters
        ----------
        runs : Reals
            What the machine shows, without the tooling's part: one run a row, real and imaginary parts in turn. [g]

        Returns
        -------
        numpy.ndarray
            Logarithm of the density, a constant apart, suspicions x runs.
        """
        return self._mixed(self.means, self.covariances, runs)

    def chance_of_looking_wrong(self, reading: Sequence[complex]) -> float:
        """Return how often a run without any mistake looks at least as much like one.

        Parameters
        ----------
        reading : Sequence[complex]
            What the machine shows, without the tooling's part, complex. [g]

        Returns
        -------
        float
            From 0 to 1; with a single belief to 1 in 4,096, and where it is no matter of alarm to 1 in 512.

        Notes
        -----
        Source: Neyman and Pearson's lemma, with the mistakes mixed by their weights; a mistake that nobody thought of
        is in the mixture as a run four times wider than its forecast. The distribution under the forecast is found
        with fixed points, shared out among the beliefs (stratified sampling).
        """
        import numpy as np

        shares = np.exp(self.beliefs.log_shares)
        shown = np.asarray(reading, dtype=np.complex128).view(np.float64)
        (found,) = self._likeness(shown[None])
        chance = 0.0
        for points in (_FEW_POINTS, _POINTS):
            beyond = [np.count_nonzero(few >= found) / len(few) for few in self._likeness_by_chance(points)]
            chance = float(shares @ beyond)
            if chance >= _NO_ALARM:
                break
        return chance

    def _likeness(self, runs: Reals) -> Reals:
        """Return how much more like a mistake than like the undisturbed case runs are: logarithm of the ratio."""
        import numpy as np

        # and, last, a run much wider than its forecast
        count = len(self.beliefs.models)
        means = np.concatenate([self.means, self.means[:count]])
        covariances = np.concatenate([self.covariances, self.covariances[:count] * _ANYTHING_WIDER**2])
        weights = np.log([*(s.weight for s in self.found[1:]), _ANYTHING_WEIGHT])[:, None]
        logs = self._mixed(means, covariances, runs)
        answer: Reals = _log_of_sum(weights + logs[1:]) - logs[0]
        return answer

    def _likeness_by_chance(self, points: int) -> list[Reals]:
        """Return the same of what chance alone shows, belief by belief."""
        import numpy as np

        if points not in self._by_chance:
            count = len(self.beliefs.models)
            roots = np.linalg.cholesky(self.covariances[:count])
            strata = _points_by_share(np.exp(self.beliefs.log_shares), self.means.shape[1], points)
            drawn = [mean + few @ root.T for mean, few, root in zip(self.means, strata, roots, strict=False)]
            ends = accumulate(len(few) for few in strata[:-1])
            self._by_chance[points] = np.split(self._likeness(np.vstack(drawn)), list(ends))
        return self._by_chance[points]

    def _mixed(self, means: Reals, covariances: Reals, runs: Reals) -> Reals:
        """Return the logarithm of the density of runs, beliefs mixed: suspicions x runs."""
        import numpy as np

        each = _log_densities(runs, means, covariances).reshape(-1, len(self.beliefs.models), len(runs))
        return _log_of_sum(each + np.array(self.beliefs.log_shares)[:, None])


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

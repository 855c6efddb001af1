"""How a rotor answers to cuts: what is left in each plane, what a gram at each station does, and how sure both are.

The state is the vector of what is left in every plane and of every station's effect on every plane. Cuts move it,
readings correct it: a Kalman filter whose state holds the answer matrix. Classical trial-weight balancing is the
case in which nothing is known before the first cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.computation.checks import finite, positive
from bench.computation.cut_scatter import Cut, CutScatter
from bench.computation.cut_trust import BY_GEOMETRY, Trust, prior_covariance
from bench.computation.errors import QuantityError
from bench.computation.stations import Station, checked_stations

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

# How many times wider than believed the effects may really be, and how likely each is before the first answer.
_WIDER_AT_FIRST = ((1.0, 0.70), (1.6, 0.22), (2.5, 0.08))
_WIDER_LATER = ((1.0, 0.95), (2.0, 0.05))
_NOISE_PRIOR_WEIGHT = 8.0


@dataclass(frozen=True, slots=True)
class Innovation:
    """How far a reading was from what was expected.

    Attributes
    ----------
    surprise : tuple[complex, ...]
        Reading less expectation, one a plane. [g]
    covariance : numpy.ndarray
        Of the surprise as real and imaginary parts in turn. [g^2]
    distance : float
        Squared Mahalanobis distance; chi-square with two degrees of freedom a plane when all is well.
    chance : float
        How often chance alone would surprise at least as much.
    """

    surprise: tuple[complex, ...]
    covariance: Reals
    distance: float
    chance: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """What the next run should show.

    Attributes
    ----------
    left : numpy.ndarray
        What should be left in each plane, complex. [g]
    covariance : numpy.ndarray
        Of what is left, reading noise apart. [g^2]
    """

    left: Complexes
    covariance: Reals


@dataclass(frozen=True, slots=True, eq=False)
class AnswerModel:
    """What is known of a rotor between two runs. An immutable value.

    Attributes
    ----------
    stations : tuple[Station, ...]
        Where metal may be taken; the holes made so far are in them.
    left : numpy.ndarray
        What is left in each plane after the last reading, complex. [g]
    effects : numpy.ndarray
        What 1 g at each station takes off each plane, planes x stations, complex.
    covariance : numpy.ndarray
        Of `left`, then of the effects station after station, real and imaginary parts in turn.
    trust : Trust
        How far the geometry was trusted at first.
    noise_g : float
        Reading noise of one component. [g]
    scatter : CutScatter
        How far cuts stray.
    pending : tuple[Cut, ...]
        Cuts made since the last reading.
    readings : int
        How many readings were taken in.
    tested : bool
        Whether an answer to a cut has tested the prior.
    tooling : tuple[complex, ...]
        Part of every reading that belongs to the bobweight set or the fixture. [g]
    """

    stations: tuple[Station, ...]
    left: Complexes
    effects: Complexes
    covariance: Reals
    trust: Trust
    noise_g: float
    scatter: CutScatter
    pending: tuple[Cut, ...] = ()
    readings: int = 0
    tested: bool = False
    tooling: tuple[complex, ...] = ()
    repeats: int = 0

    @classmethod
    def start(
        cls,
        stations: Sequence[Station],
        *,
        trust: Trust = BY_GEOMETRY,
        noise_g: float = 0.1,
        scatter: CutScatter | None = None,
    ) -> AnswerModel:
        """Return the model before the first run.

        Parameters
        ----------
        stations : Sequence[Station]
            Where metal may be taken, with what geometry says a gram there does.
        trust : Trust
            How far geometry is trusted.
        noise_g : float
            Reading noise of one component. [g]
        scatter : CutScatter | None
            How far cuts stray; None for the usual.

        Returns
        -------
        AnswerModel
            Without a reading; `first_reading` comes next.

        Raises
        ------
        QuantityError
            If a station or the noise cannot be.
        """
        import numpy as np

        stations = checked_stations(stations)
        planes = len(stations[0].effect)
        size = 2 * planes * (1 + len(stations))
        covariance = np.zeros((size, size))
        covariance[2 * planes :, 2 * planes :] = prior_covariance(stations, trust, planes=planes)
        return cls(
            stations=stations,
            left=np.zeros(planes, dtype=np.complex128),
            effects=np.array([s.effect for s in stations], dtype=np.complex128).T,
            covariance=covariance,
            trust=trust,
            noise_g=positive(noise_g, quantity="noise_g"),
            scatter=scatter if scatter is not None else CutScatter(),
            tooling=(0j,) * planes,
        )

    @property
    def planes(self) -> int:
        """Number of correction planes."""
        return len(self.left)

    def first_reading(self, reading: Sequence[complex]) -> AnswerModel:
        """Return the model after the first run.

        Parameters
        ----------
        reading : Sequence[complex]
            What the machine shows, one a plane, where the excess is. [g]

        Returns
        -------
        AnswerModel
            Ready to be planned with.

        Raises
        ------
        QuantityError
            If the reading has another number of planes or is not finite.
        """
        import numpy as np

        wide = 2 * self.planes
        covariance = self.covariance.copy()
        covariance[:wide, :] = 0.0
        covariance[:, :wide] = 0.0
        covariance[:wide, :wide] = np.eye(wide) * self.noise_g**2
        return replace(self, left=self._checked(reading), covariance=covariance, pending=(), readings=1)

    def _checked(self, reading: Sequence[complex]) -> Complexes:
        import numpy as np

        if len(reading) != self.planes:
            raise QuantityError("reading", found=f"{len(reading)} planes", wanted=f"{self.planes}, one a plane")
        for index, value in enumerate(reading):
            finite(abs(value), quantity=f"reading[{index}]")
        return np.array([r - t for r, t in zip(reading, self.tooling, strict=True)], dtype=np.complex128)

    def station_index(self, name: str) -> int:
        """Return the place of a station.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        int
            From 0.

        Raises
        ------
        QuantityError
            If there is none of this name.
        """
        for index, station in enumerate(self.stations):
            if station.name == name:
                return index
        raise QuantityError("station", found=name, wanted="one of " + ", ".join(s.name for s in self.stations))

    def doubt_about(self, station_index: int) -> float:
        """Return how unsure a station's effects are.

        Parameters
        ----------
        station_index : int
            Place of the station.

        Returns
        -------
        float
            Sum of the variances of its effects on all planes. [(g/g)^2]
        """
        size = 2 * self.planes
        start = size * (1 + station_index)
        return float(self.covariance.diagonal()[start : start + size].sum())

    def after_cuts(self, cuts: Sequence[Cut]) -> AnswerModel:
        """Return the model after metal was taken away and before the next run.

        Parameters
        ----------
        cuts : Sequence[Cut]
            What was really done, as far as known.

        Returns
        -------
        AnswerModel
            The cuts wait for their answer; the holes are in the stations.

        Raises
        ------
        QuantityError
            If a station is unknown or a number is not finite.
        """
        stations = list(self.stations)
        for cut in cuts:
            index = self.station_index(cut.station)
            finite(cut.grams, quantity="cut.grams")
            finite(cut.angle_deg, quantity="cut.angle_deg")
            if cut.grams > 0.0:
                stations[index] = stations[index].with_cut(
                    angle_deg=cut.angle_deg, grams=cut.grams, diameter_mm=cut.diameter_mm
                )
        return replace(self, stations=tuple(stations), pending=(*self.pending, *cuts))

    def with_cuts(self, cuts: Sequence[Cut]) -> AnswerModel:
        """Return the model as if other cuts waited for their answer.

        Parameters
        ----------
        cuts : Sequence[Cut]
            What may really have been cut since the last run.

        Returns
        -------
        AnswerModel
            The same knowledge; the stations' holes stay as recorded.
        """
        return replace(self, pending=tuple(cuts))

    def taken_by_station(self, cuts: Sequence[Cut]) -> Complexes:
        """Return the sum of cuts a station.

        Parameters
        ----------
        cuts : Sequence[Cut]
            Any cuts.

        Returns
        -------
        numpy.ndarray
            Complex, one a station. [g]
        """
        import numpy as np

        taken = np.zeros(len(self.stations), dtype=np.complex128)
        for cut in cuts:
            taken[self.station_index(cut.station)] += cut.taken
        return taken

    def forecast(self, cuts: Sequence[Cut] = (), *, doubting: bool = False) -> Forecast:
        """Return what will be left after the waiting cuts and further ones.

        Parameters
        ----------
        cuts : Sequence[Cut]
            Cuts that are thought of, besides those that wait.
        doubting : bool
            Whether a prior that no answer has tested is trusted less, as a planner should.

        Returns
        -------
        Forecast
            What should be left, with its covariance.
        """
        every = (*self.pending, *cuts)
        taken = self.taken_by_station(every)
        doubt = self.trust.doubt if doubting and not self.tested else 1.0
        return Forecast(self.left - self.effects @ taken, self._moved(taken, doubt)[0] + self._scattered(every))

    def spread_after(self, taken: Complexes) -> Reals:
        """Return the covariance of what cuts leave, their own scatter apart; an untested prior is doubted.

        Parameters
        ----------
        taken : numpy.ndarray
            Sum of the cuts a station, complex. [g]

        Returns
        -------
        numpy.ndarray
            Real and imaginary parts in turn. [g^2]
        """
        return self._moved(taken, 1.0 if self.tested else self.trust.doubt)[0]

    def _moved(self, taken: Complexes, wider: float) -> tuple[Reals, Reals]:
        """Return the covariance of what is left after cuts, and its covariance with the whole state."""
        rows = _rows(taken, self.planes, wider)
        cross = rows @ self.covariance
        covariance: Reals = cross @ rows.T
        return covariance, cross

    def _scattered(self, cuts: Sequence[Cut]) -> Reals:
        import numpy as np

        sizes = 2 * self.planes
        total = np.zeros((sizes, sizes))
        for cut in cuts:
            radial, tangential = self.scatter.variances(cut.grams)
            along = self.effects[:, self.station_index(cut.station)] * cut.direction
            for vector, variance in ((along, radial), (1j * along, tangential)):
                parts = vector.view(np.float64)
                total += variance * np.outer(parts, parts)
        return total

    def update(self, reading: Sequence[complex]) -> tuple[AnswerModel, Innovation]:
        """Return the model after a run, and how far the run was from what was expected.

        Parameters
        ----------
        reading : Sequence[complex]
            What the machine shows, one a plane, where the excess is. [g]

        Returns
        -------
        tuple[AnswerModel, Innovation]
            The model that learnt from the run, and the surprise.

        Raises
        ------
        QuantityError
            If the reading cannot be, or none was taken before.

        Notes
        -----
        Source: Kalman filter with the effects in the state; the answer to the first cut is weighed against priors
        that are wider than believed (Bayesian model averaging, collapsed to its first two moments).
        """
        import numpy as np

        if self.readings == 0:
            raise QuantityError("reading", found="no first reading", wanted="first_reading before update")
        shown = self._checked(reading)
        taken = self.taken_by_station(self.pending)
        expected = self.left - self.effects @ taken
        surprise = shown - expected
        parts = surprise.view(np.float64)
        noise = np.eye(2 * self.planes) * self.noise_g**2
        scattered = self._scattered(self.pending)
        believed = _believed(self.tested, bool(self.pending))
        weights: list[float] = []
        states: list[Reals] = []
        covariances: list[Reals] = []
        first: Reals | None = None
        size = 2 * self.planes
        state = np.concatenate([expected.view(np.float64), self.effects.T.copy().view(np.float64).ravel()])
        for wider, weight in believed:
            spread, cross = self._moved(taken, wider)
            spread = spread + scattered
            covariance = self._covariance_with(spread, cross, wider)
            whole = spread + noise
            first = whole if first is None else first
            gain = np.linalg.solve(whole, covariance[:size, :]).T
            states.append(state + gain @ parts)
            covariances.append(covariance - gain @ covariance[:size, :])
            distance = float(parts @ np.linalg.solve(whole, parts))
            weights.append(math.log(weight) - 0.5 * (distance + float(np.linalg.slogdet(whole)[1])))
        if first is None:
            raise AssertionError("no belief about the prior")
        distance = float(parts @ np.linalg.solve(first, parts))
        mean, covariance = _mixed(weights, states, covariances)
        learnt = replace(
            self,
            left=mean[:size].copy().view(np.complex128),
            effects=mean[size:].copy().view(np.complex128).reshape(len(self.stations), self.planes).T.copy(),
            covariance=covariance,
            pending=(),
            readings=self.readings + 1,
            tested=self.tested or bool(self.pending),
        )
        if not self.pending:
            learnt = learnt._with_noise_of(parts, first)  # noqa: SLF001 another value of the same class
        return learnt, Innovation(
            tuple(complex(s) for s in surprise), first, distance, chance_beyond(distance, self.planes)
        )

    def _covariance_with(self, spread: Reals, cross: Reals, wider: float) -> Reals:
        """Return the covariance of the whole state after cuts, effects trusted `wider` times less."""
        size = 2 * self.planes
        covariance: Reals = self.covariance.copy()
        covariance[size:, size:] *= wider**2
        covariance[:size, size:] = cross[:, size:] * wider
        covariance[size:, :size] = covariance[:size, size:].T
        covariance[:size, :size] = spread
        return covariance

    def _with_noise_of(self, parts: Reals, whole: Reals) -> AnswerModel:
        """Return the model with its noise corrected by a run that was repeated without a cut."""
        import numpy as np

        ratio = float(parts @ np.linalg.solve(whole, parts)) / len(parts)
        weight = _NOISE_PRIOR_WEIGHT + self.repeats * len(parts)
        # a repeat that is far out is a slip or a bump, not noise: it counts as three deviations at most
        mixed = (weight + len(parts) * min(ratio, 9.0)) / (weight + len(parts))
        return replace(self, noise_g=self.noise_g * math.sqrt(mixed), repeats=self.repeats + 1)

    def without_tooling(self, tooling: Sequence[complex]) -> AnswerModel:
        """Return the model with the part of the readings that belongs to the tooling taken out.

        Parameters
        ----------
        tooling : Sequence[complex]
            From two runs with the bobweight set or the fixture turned by 180 degrees. [g]

        Returns
        -------
        AnswerModel
            Readings that follow are freed from it as well.

        Raises
        ------
        QuantityError
            If it has another number of planes or is not finite.
        """
        import numpy as np

        found = self._checked(tooling) + np.array(self.tooling)
        changed = found - np.array(self.tooling)
        return replace(self, left=self.left - changed, tooling=tuple(complex(t) for t in found))


def _rows(taken: Complexes, planes: int, wider: float) -> Reals:
    """Return the matrix that leads from the state to what is left after cuts."""
    import numpy as np

    size = 2 * planes
    rows = np.zeros((size, size * (1 + len(taken))))
    rows[:, :size] = np.eye(size)
    for s, gone in enumerate(taken):
        if gone == 0:
            continue
        turn = wider * np.array([[gone.real, -gone.imag], [gone.imag, gone.real]])
        for p in range(planes):
            column = size * (1 + s) + 2 * p
            rows[2 * p : 2 * p + 2, column : column + 2] = -turn
    return rows


def _believed(tested: bool, cut: bool) -> tuple[tuple[float, float], ...]:  # noqa: FBT001
    if not cut:
        return ((1.0, 1.0),)
    return _WIDER_LATER if tested else _WIDER_AT_FIRST


def _mixed(weights: Sequence[float], states: Sequence[Reals], covariances: Sequence[Reals]) -> tuple[Reals, Reals]:
    """Return mean and covariance of several beliefs weighed by the logarithms of their likelihoods."""
    import numpy as np

    most = max(weights)
    shares = [math.exp(w - most) for w in weights]
    total = sum(shares)
    mean: Reals = np.zeros_like(states[0])
    for share, state in zip(shares, states, strict=True):
        mean = mean + share / total * state
    covariance: Reals = np.zeros_like(covariances[0])
    for share, state, spread in zip(shares, states, covariances, strict=True):
        off = state - mean
        covariance = covariance + share / total * (spread + np.outer(off, off))
    return mean, 0.5 * (covariance + covariance.T)


def chance_beyond(distance: float, planes: int) -> float:
    """Return how often chance alone gives at least this squared distance.

    Parameters
    ----------
    distance : float
        Squared Mahalanobis distance of a reading from its expectation.
    planes : int
        Number of planes.

    Returns
    -------
    float
        Upper tail of the chi-square distribution with two degrees of freedom a plane.

    Notes
    -----
    Source: for an even number of degrees of freedom the tail is a finite sum (Abramowitz and Stegun 26.4.21).

    Examples
    --------
    >>> round(chance_beyond(13.2767, 2), 4)
    0.01
    """
    half = distance / 2.0
    term, total = 1.0, 1.0
    for i in range(1, planes):
        term *= half / i
        total += term
    return math.exp(-half) * total


def in_words(model: AnswerModel, *, plane_names: Sequence[str] = ("front", "rear")) -> tuple[str, ...]:
    """Return how the rotor answers, one sentence a station.

    Parameters
    ----------
    model : AnswerModel
        The model.
    plane_names : Sequence[str]
        Names of the planes; planes beyond them are numbered.

    Returns
    -------
    tuple[str, ...]
        For example "1 g at front takes 0.97 g off the front and 0.14 g off the rear".
    """
    names = [plane_names[p] if p < len(plane_names) else f"plane {p + 1}" for p in range(model.planes)]
    sentences: list[str] = []
    for s, station in enumerate(model.stations):
        parts: list[str] = []
        for p in sorted(range(model.planes), key=lambda p: p != station.plane_index):
            effect = complex(model.effects[p, s])
            along = effect.real
            if abs(along) < 0.005:
                parts.append(f"nothing off the {names[p]}")
            elif along > 0:
                parts.append(f"{along:.2f} g off the {names[p]}")
            else:
                parts.append(f"adds {-along:.2f} g to the {names[p]}")
        text = " and ".join(parts)
        sentences.append(f"1 g at {station.name} {'takes ' if not text.startswith('adds') else ''}{text}")
    return tuple(sentences)

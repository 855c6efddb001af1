"""How a rotor answers to cuts: what is left in each plane, what a gram at each station does, and how sure both are.

The state is the vector of what is left in every plane and of every station's effect on every plane. Cuts move it,
readings correct it: a Kalman filter whose state holds the answer matrix. Classical trial-weight balancing is the
case in which nothing is known before the first cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bench.computation.answer_model_algebra import rows_after
from bench.computation.answer_model_forecast import Forecast, Innovation
from bench.computation.answer_model_words import in_words
from bench.computation.checks import finite, positive
from bench.computation.cut_scatter import CHIPS_WEIGHED, Cut, CutScatter
from bench.computation.cut_trust import BY_GEOMETRY, Trust, prior_covariance
from bench.computation.errors import QuantityError
from bench.computation.stations import Station, checked_stations

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Reals = NDArray[np.float64]
    Complexes = NDArray[np.complex128]

__all__ = ["AnswerModel", "in_words"]


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
    repeats : int
        How many runs without a cut have taught the noise.
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
        covariance[2 * planes :, 2 * planes :] = prior_covariance(stations, trust.planned or trust, planes=planes)
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
        return replace(self, left=self.freed(reading), covariance=covariance, pending=(), readings=1)

    def freed(self, reading: Sequence[complex]) -> Complexes:
        """Return a reading without the part that belongs to the tooling.

        Parameters
        ----------
        reading : Sequence[complex]
            What the machine shows, one a plane. [g]

        Returns
        -------
        numpy.ndarray
            Complex, one a plane. [g]

        Raises
        ------
        QuantityError
            If it has another number of planes or is not finite.
        """
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
        stations, made = list(self.stations), list(cuts)
        for place, cut in enumerate(cuts):
            index = self.station_index(cut.station)
            finite(cut.grams, quantity="cut.grams")
            finite(cut.angle_deg, quantity="cut.angle_deg")
            if cut.grams > 0.0:
                before = stations[index]
                stations[index] = before.with_cut(angle_deg=cut.angle_deg, grams=cut.grams, diameter_mm=cut.diameter_mm)
                made[place] = replace(cut, deepens=len(stations[index].holes) == len(before.holes))
        return replace(self, stations=tuple(stations), pending=(*self.pending, *made))

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
        return Forecast(self.left - self.effects @ taken, self.moved(taken, doubt)[0] + self.scattered(every))

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
        return self.moved(taken, 1.0 if self.tested else self.trust.doubt)[0]

    def moved(self, taken: Complexes, wider: float) -> tuple[Reals, Reals]:
        """Return the covariance of what is left after cuts that hit exactly.

        Parameters
        ----------
        taken : numpy.ndarray
            Sum of the cuts a station, complex. [g]
        wider : float
            How many times less the effects are trusted.

        Returns
        -------
        tuple[numpy.ndarray, numpy.ndarray]
            Covariance of what is left, and its covariance with the state as it is stored.
        """
        rows = rows_after(taken, self.planes, wider)
        cross = rows @ self.covariance
        covariance: Reals = cross @ rows.T
        return covariance, cross

    def scattered(self, cuts: Sequence[Cut]) -> Reals:
        """Return what the cuts' own scatter adds to the covariance of what is left.

        Parameters
        ----------
        cuts : Sequence[Cut]
            Any cuts.

        Returns
        -------
        numpy.ndarray
            Real and imaginary parts in turn. [g^2]
        """
        import numpy as np

        sizes = 2 * self.planes
        total = np.zeros((sizes, sizes))
        for cut in cuts:
            scatter = CHIPS_WEIGHED if cut.measured else self.scatter
            radial, tangential = scatter.variances(cut.grams, deepens=cut.deepens)
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
        from bench.computation.answer_model_update import learnt_from

        if self.readings == 0:
            raise QuantityError("reading", found="no first reading", wanted="first_reading before update")
        return learnt_from(self, self.freed(reading))

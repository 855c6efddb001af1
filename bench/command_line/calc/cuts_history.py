"""What happened to a rotor, for `calc cuts`: runs and cuts in their order, and what they teach."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field, model_validator

from bench.command_line.calc.values import CalcValue, NotNegative, Number, Positive, VectorValue
from bench.computation.answer_model import AnswerModel
from bench.computation.counterweight_stations import CounterweightPlace
from bench.computation.cut_scatter import Cut
from bench.computation.drill import hole_of_depth
from bench.computation.errors import QuantityError
from bench.computation.sense_checks import check_sense
from bench.computation.sense_checks_beliefs import Beliefs

LARGEST_G = 1e6
"""More than any rotor is out. [g]"""


class CutDone(CalcValue):
    """Metal taken: grams at the correction radius, or the drill and how deep; or heavy metal put in, net."""

    station: str
    angle_deg: Number
    grams: Annotated[float, Field(gt=0, le=LARGEST_G)] | None = None
    heavy_g: Annotated[float, Field(gt=0, le=LARGEST_G)] | None = None
    diameter_mm: Positive | None = None
    from_depth_mm: NotNegative = 0.0
    depth_mm: Positive | None = None
    measured: bool = False

    @model_validator(mode="after")
    def _is_enough(self) -> CutDone:
        if self.heavy_g is not None and self.grams is not None:
            raise ValueError("either grams or heavy_g")
        if self.heavy_g is None and self.grams is None and (self.diameter_mm is None or self.depth_mm is None):
            raise ValueError("grams, heavy_g, or diameter_mm and depth_mm")
        return self


class Happened(CalcValue):
    """A run, one vector a plane where the excess is; or the cuts made since the run before."""

    run: Annotated[tuple[VectorValue, ...], Field(min_length=1, max_length=2)] | None = None
    cuts: Annotated[tuple[CutDone, ...], Field(min_length=1, max_length=48)] | None = None

    @model_validator(mode="after")
    def _is_one_thing(self) -> Happened:
        if (self.run is None) == (self.cuts is None):
            raise ValueError("either run or cuts")
        return self


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the history taught.

    Attributes
    ----------
    model : AnswerModel
        After the last run.
    shown : tuple[complex, ...]
        What the last run showed. [g]
    alarm : str
        What most likely went wrong before the last run; empty when it was where it was expected.
    """

    model: AnswerModel
    shown: tuple[complex, ...]
    alarm: str


def learnt_from(
    start: AnswerModel,
    history: Sequence[Happened],
    *,
    planes: Sequence[str],
    places: Mapping[str, CounterweightPlace],
    radii_mm: Sequence[float],
) -> Learnt:
    """Return what runs and cuts taught.

    Parameters
    ----------
    start : AnswerModel
        Before the first run.
    history : Sequence[Happened]
        A run first, a run last.
    planes : Sequence[str]
        Their names.
    places : Mapping[str, CounterweightPlace]
        The stations as measured.
    radii_mm : Sequence[float]
        Correction radius of each plane. [mm]

    Returns
    -------
    Learnt
        Nothing is learnt from a run that makes no sense; the model starts anew from it.

    Raises
    ------
    QuantityError
        If the order or the number of planes is wrong, or a cut cannot be.
    """
    model, beliefs, alarm = start, Beliefs.start(start), ""
    shown: tuple[complex, ...] = ()
    for number, item in enumerate(history):
        where = f"history[{number}]"
        if item.cuts is not None:
            if model.readings == 0:
                raise QuantityError(where, found="cuts", wanted="a run before the first cut")
            made = [
                _cut(cut, f"{where}.cuts[{i}]", places=places, radii_mm=radii_mm) for i, cut in enumerate(item.cuts)
            ]
            model = model.after_cuts(made)
            continue
        run = tuple(v.vector.as_complex for v in item.run or ())
        if len(run) != len(planes):
            raise QuantityError(f"{where}.run", found=f"{len(run)} vectors", wanted=f"{len(planes)}, one a plane")
        for p, value in enumerate(run):
            if not abs(value) <= LARGEST_G:
                raise QuantityError(f"{where}.run[{p}].amount", found=abs(value), wanted=f"at most {LARGEST_G:g} g")
        shown = run
        if model.readings == 0:
            model, beliefs = model.first_reading(run), beliefs.first_reading(run)
            continue
        check = check_sense(model, run, beliefs)
        alarm = check.in_words(plane_names=planes) if check.alarm else ""
        if check.alarm:
            anew = AnswerModel.start(model.stations, trust=start.trust, noise_g=start.noise_g, scatter=start.scatter)
            model, beliefs = anew.first_reading(run), Beliefs.start(anew).first_reading(run)
        else:
            beliefs = beliefs.after_run(model, run)
            model, _ = model.update(run)
    if model.readings == 0 or model.pending:
        raise QuantityError(
            f"history[{len(history) - 1}]", found="cuts without their run", wanted="a run last: spin, then plan"
        )
    return Learnt(model, shown, alarm)


def _cut(done: CutDone, where: str, *, places: Mapping[str, CounterweightPlace], radii_mm: Sequence[float]) -> Cut:
    place = places.get(done.station)
    if place is None:
        raise QuantityError(f"{where}.station", found=done.station, wanted="one of " + ", ".join(places))
    grams = done.grams if done.heavy_g is None else -done.heavy_g
    if grams is None and done.diameter_mm is not None and done.depth_mm is not None:
        shape = place.shape(done.diameter_mm)
        try:
            amount = hole_of_depth(shape, depth_mm=done.depth_mm).amount_g_mm
            if done.from_depth_mm > 0.0:
                amount -= hole_of_depth(shape, depth_mm=done.from_depth_mm).amount_g_mm
        except QuantityError as fault:
            raise QuantityError(f"{where}.{fault.quantity}", found=fault.found, wanted=fault.wanted) from fault
        grams = amount / radii_mm[place.plane_index]
    if not grams or (grams < 0.0 and done.heavy_g is None):
        raise QuantityError(f"{where}.depth_mm", found=done.depth_mm, wanted=f"more than {done.from_depth_mm:g} mm")
    return Cut(done.station, done.angle_deg, grams, done.diameter_mm, done.depth_mm, measured=done.measured)

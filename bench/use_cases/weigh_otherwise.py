"""The order of the sheet changed, something weighed beside it, how warm it is at the scale."""

from __future__ import annotations

from bench.trail.events import RouteChosen, TemperatureNoted
from bench.use_cases.check_scale import check_scale
from bench.use_cases.check_whole import check_assembly
from bench.use_cases.commands import CheckAssembly, CheckScale, NoteTemperature, SetRoute
from bench.use_cases.due import Route
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Step
from bench.use_cases.weigh_station import WeighStation

COLDEST_C, WARMEST_C = -40.0, 80.0


def weigh_otherwise(
    station: WeighStation, scribe: Scribe, command: SetRoute | CheckScale | NoteTemperature | CheckAssembly
) -> str:
    """Change the order, or turn the scale to something beside the sheet.

    Parameters
    ----------
    station : WeighStation
        The scale's side of the job.
    scribe : Scribe
        Who writes.
    command : SetRoute | CheckScale | NoteTemperature | CheckAssembly
        What is wanted.

    Returns
    -------
    str
        What is done now, one sentence.

    Raises
    ------
    RefusedError
        When it cannot be weighed, or the scale rests in the step that is shown.
    """
    match command:
        case SetRoute(route=route):
            return _choose(station, scribe, route)
        case NoteTemperature(celsius=celsius):
            return _note(station, scribe, celsius)
        case CheckScale(nominal_g=nominal, weight_class=weight_class):
            aside = check_scale(scribe, nominal_g=nominal, weight_class=weight_class, rules=station.rules)
        case CheckAssembly(cylinder=cylinder):
            aside = check_assembly(scribe, cylinder)
    if station.step not in {Step.WEIGH, Step.BOBWEIGHTS}:
        raise RefusedError(aside.due.label, found="the scale rests in this step", do="turn to the weigh step first")
    station.weigh_aside(aside)
    return aside.instruction.headline


def _choose(station: WeighStation, scribe: Scribe, route: Route) -> str:
    state = scribe.state
    if state is None:
        raise RefusedError("route", found="no job is open")
    if state.route != route.value:
        scribe.record([RouteChosen(route=route.value)], how="typed")
    if station.step is Step.WEIGH:
        station.work_at(Step.WEIGH)
    one = "kind" if route is Route.BY_KIND else "cylinder"
    return f"asked for from now on: all of one {one}, then the next"


def _note(station: WeighStation, scribe: Scribe, celsius: float) -> str:
    if scribe.state is None:
        raise RefusedError("temperature", found="no job is open")
    if not COLDEST_C <= celsius <= WARMEST_C:
        raise RefusedError(
            "temperature", found=f"{celsius:g} °C", wanted=f"{COLDEST_C:g} to {WARMEST_C:g} °C, e.g. temperature 21.5"
        )
    event = scribe.record([TemperatureNoted(celsius=celsius)], how="typed")[0]
    return f"noted: {celsius:.1f} °C at the scale (entry {event.seq})" + station.check_words()

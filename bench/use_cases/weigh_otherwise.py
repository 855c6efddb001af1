"""The order of the sheet changed, or something weighed beside it."""

from __future__ import annotations

from bench.use_cases.check_scale import check_scale
from bench.use_cases.check_whole import check_assembly
from bench.use_cases.commands import CheckAssembly, CheckScale, SetRoute
from bench.use_cases.due import Route
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Step
from bench.use_cases.weigh_station import WeighStation


def weigh_otherwise(station: WeighStation, scribe: Scribe, command: SetRoute | CheckScale | CheckAssembly) -> str:
    """Change the order, or turn the scale to something beside the sheet.

    Parameters
    ----------
    station : WeighStation
        The scale's side of the job.
    scribe : Scribe
        Who writes.
    command : SetRoute | CheckScale | CheckAssembly
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
            station.route = route
            if station.step is Step.WEIGH:
                station.work_at(Step.WEIGH)
            one = "kind" if route is Route.BY_KIND else "cylinder"
            return f"asked for from now on: all of one {one}, then the next"
        case CheckScale(nominal_g=nominal, weight_class=weight_class):
            aside = check_scale(scribe, nominal_g=nominal, weight_class=weight_class)
        case CheckAssembly(cylinder=cylinder):
            aside = check_assembly(scribe, cylinder)
    if station.step not in {Step.WEIGH, Step.BOBWEIGHTS}:
        raise RefusedError(aside.due.label, found="the scale rests in this step", do="turn to the weigh step first")
    station.weigh_aside(aside)
    return aside.instruction.headline

"""`calc cuts`."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from bench.command_line.calc.cuts_history import Happened, learnt_from
from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, NotNegative, Number, Positive, VectorValue
from bench.computation.answer_model import AnswerModel, in_words
from bench.computation.counterweight_stations import (
    POINT_DEG,
    STEEL_G_CM3,
    CounterweightPlace,
    MadeHole,
    PlaneGeometry,
    depth_of,
    stations_from,
)
from bench.computation.cut_plan import CutLimits, CutPlan
from bench.computation.cut_planner import plan_cuts
from bench.computation.cut_scatter import Cut
from bench.computation.cut_trust import BY_GEOMETRY, MEASURED, UNKNOWN
from bench.computation.cut_verdict import Standing, run_verdict
from bench.computation.errors import QuantityError
from bench.computation.stations import KeepOut
from bench.computation.vectors import Vector

TRUST = {"geometry": BY_GEOMETRY, "measured": MEASURED, "unknown": UNKNOWN}
MOST_STATIONS = 16
MOST_HISTORY = 400
Millimetres = Annotated[float, Field(ge=-1e5, le=1e5)]
Length = Annotated[float, Field(gt=0, le=1e5)]
Grams = Annotated[float, Field(ge=1e-6, le=1e6)]


class Plane(CalcValue):
    """A correction plane."""

    name: Annotated[str, Field(min_length=1, max_length=40)]
    position_mm: Millimetres = 0.0
    radius_mm: Length
    tolerance_g: Grams


class Hole(CalcValue):
    """A hole that is there before the first run."""

    angle_deg: Number
    diameter_mm: Positive
    depth_mm: Positive


class Keep(CalcValue):
    """What must not be touched: an oil hole, a fillet."""

    centre_deg: Number
    half_width_deg: NotNegative
    what: str = ""


class Station(CalcValue):
    """A place on a counterweight where a drill can stand."""

    name: Annotated[str, Field(min_length=1, max_length=40)]
    plane: Annotated[int, Field(ge=0, le=1)]
    position_mm: Millimetres = 0.0
    outer_radius_mm: Length
    centre_deg: Number | None = None
    arc_deg: Annotated[float, Field(gt=0, le=360, allow_inf_nan=False)] = 360.0
    drills_mm: Annotated[tuple[Positive, ...], Field(min_length=1, max_length=8)]
    most_depth_mm: Positive
    wall_mm: NotNegative = 3.0
    point_deg: Positive = POINT_DEG
    density_g_cm3: Positive = STEEL_G_CM3
    keep_outs: Annotated[tuple[Keep, ...], Field(max_length=32)] = ()
    holes: Annotated[tuple[Hole, ...], Field(max_length=32)] = ()

    @property
    def place(self) -> CounterweightPlace:
        """The place that is computed with."""
        return CounterweightPlace(
            name=self.name,
            plane_index=self.plane,
            position_mm=self.position_mm,
            outer_radius_mm=self.outer_radius_mm,
            drills_mm=self.drills_mm,
            most_depth_mm=self.most_depth_mm,
            centre_deg=self.centre_deg,
            arc_deg=self.arc_deg,
            wall_mm=self.wall_mm,
            point_deg=self.point_deg,
            density_g_cm3=self.density_g_cm3,
            keep_outs=tuple(KeepOut(k.centre_deg, k.half_width_deg, k.what) for k in self.keep_outs),
            holes=tuple(
                MadeHole(angle_deg=h.angle_deg, diameter_mm=h.diameter_mm, depth_mm=h.depth_mm) for h in self.holes
            ),
        )


class Limits(CalcValue):
    """What a plan has to keep."""

    most_holes: Annotated[int, Field(ge=1, le=24)] = 4
    one_plane: bool = False


class Asked(CalcValue):
    """Planes, stations, and everything that happened: a run first, then cuts and runs in their order."""

    planes: Annotated[tuple[Plane, ...], Field(min_length=1, max_length=2)]
    stations: Annotated[tuple[Station, ...], Field(min_length=1, max_length=MOST_STATIONS)]
    history: Annotated[tuple[Happened, ...], Field(min_length=1, max_length=MOST_HISTORY)]
    trust: Literal["geometry", "measured", "unknown"] = "geometry"
    noise_g: Grams = 0.1
    limits: Limits = Limits()


class PlannedCut(CalcValue):
    """A hole to drill or to deepen."""

    station: str
    plane: int
    angle_deg: float
    grams: float
    diameter_mm: float | None = None
    depth_mm: float | None = None
    from_depth_mm: float
    deepens: bool


class Expected(CalcValue):
    """What the next run should show of a plane; the uncertainty is one standard deviation of the larger component."""

    amount: float
    angle_deg: float
    standard_uncertainty_g: float


class AddMetal(CalcValue):
    """Heavy metal to put in: net grams at the correction radius, more than the metal it replaces."""

    station: str
    plane: int
    angle_deg: float
    net_g: float
    why: str


class Answered(CalcValue):
    """What to do next, with its chances; cuts are empty when nothing should be drilled now."""

    do: Literal["cut", "spin again", "add metal", "done", "stop"]
    why: str
    cuts: tuple[PlannedCut, ...]
    expected: tuple[Expected, ...]
    chance_done: float | None = None
    chance_too_far: float | None = None
    add_metal: tuple[AddMetal, ...]
    planes: tuple[str, ...]
    answer: tuple[tuple[VectorValue, ...], ...]
    answer_in_words: tuple[str, ...]
    alarm: str | None = None


def answer(asked: Asked) -> Answered:
    """Return the next cuts.

    Parameters
    ----------
    asked : Asked
        Planes, stations, history.

    Returns
    -------
    Answered
        Cuts with depths, or why there are none.
    """
    if len(asked.planes) == 2 and asked.planes[0].position_mm == asked.planes[1].position_mm:
        raise QuantityError("planes[1].position_mm", found=asked.planes[1].position_mm, wanted="two places apart")
    planes = PlaneGeometry(
        positions_mm=tuple(p.position_mm for p in asked.planes), radii_mm=tuple(p.radius_mm for p in asked.planes)
    )
    places = [station.place for station in asked.stations]
    start = AnswerModel.start(stations_from(places, planes), trust=TRUST[asked.trust], noise_g=asked.noise_g)
    names = tuple(p.name for p in asked.planes)
    by_name = {place.name: place for place in places}
    told = learnt_from(start, asked.history, planes=names, places=by_name, radii_mm=planes.radii_mm)
    model, tolerance = told.model, [p.tolerance_g for p in asked.planes]
    standing = run_verdict(model, told.shown, tolerance_g=tolerance)
    done = standing.whole is Standing.INSIDE
    plan = (
        None
        if done or told.alarm
        else plan_cuts(
            model,
            tolerance_g=tolerance,
            limits=CutLimits(most_holes=asked.limits.most_holes, one_plane=asked.limits.one_plane),
        )
    )
    cuts = tuple(
        _planned(cut, model, by_name[cut.station], radius_mm=asked.planes[by_name[cut.station].plane_index].radius_mm)
        for cut in (plan.cuts if plan else ())
    )
    do, why = _next(plan, told.alarm)
    left = plan.left if plan else tuple(complex(z) for z in model.left)
    return Answered(
        do=do,
        why=why,
        cuts=cuts,
        expected=tuple(
            Expected(amount=abs(z), angle_deg=Vector.of(z).angle_deg, standard_uncertainty_g=u)
            for z, u in zip(left, plan.uncertainty_g if plan else _uncertainty_now(model), strict=True)
        ),
        chance_done=plan.chance_done if plan else None,
        chance_too_far=plan.chance_too_far if plan else None,
        add_metal=tuple(
            AddMetal(station=m.station, plane=m.plane_index, angle_deg=m.angle_deg % 360.0, net_g=m.net_g, why=m.why)
            for m in (plan.heavy_metal if plan else ())
        ),
        planes=tuple(s.value for s in standing.planes),
        answer=tuple(
            tuple(VectorValue.of(Vector.of(complex(e))) for e in model.effects[p]) for p in range(model.planes)
        ),
        answer_in_words=in_words(model, plane_names=names),
        alarm=told.alarm or None,
    )


def _planned(cut: Cut, model: AnswerModel, place: CounterweightPlace, *, radius_mm: float) -> PlannedCut:
    station = model.stations[model.station_index(cut.station)]
    hole = depth_of(cut, place=place, station=station, correction_radius_mm=radius_mm)
    return PlannedCut(
        station=cut.station,
        plane=place.plane_index,
        angle_deg=cut.angle_deg % 360.0,
        grams=cut.grams,
        diameter_mm=hole.diameter_mm,
        depth_mm=hole.depth_mm,
        from_depth_mm=hole.from_depth_mm,
        deepens=cut.deepens,
    )


def _uncertainty_now(model: AnswerModel) -> tuple[float, ...]:
    """Return how far a run without a cut may be from what is left, one standard deviation a component."""
    variances = [float(v) + model.noise_g**2 for v in model.covariance.diagonal()[: 2 * model.planes]]
    return tuple(math.sqrt(max(variances[2 * p], variances[2 * p + 1])) for p in range(model.planes))


def _next(plan: CutPlan | None, alarm: str) -> tuple[Literal["cut", "spin again", "add metal", "done", "stop"], str]:
    """Return what to do, in one word and in a sentence."""
    if alarm:
        return "spin again", f"no cut is planned from a run that makes no sense: {alarm}"
    if plan is None:
        return "done", "every plane is inside, guard band included"
    if plan.cuts:
        return "cut", plan.why
    if plan.spin_again:
        return "spin again", plan.why
    return ("add metal" if plan.heavy_metal else "stop"), plan.why


_EXAMPLE = """\
{"planes": [{"name": "front", "position_mm": 0, "radius_mm": 90, "tolerance_g": 1},
            {"name": "rear", "position_mm": 450, "radius_mm": 90, "tolerance_g": 1}],
 "stations": [{"name": "front 1", "plane": 0, "position_mm": 30, "outer_radius_mm": 92, "centre_deg": 180,
               "arc_deg": 150, "drills_mm": [12, 16], "most_depth_mm": 32},
              {"name": "rear 1", "plane": 1, "position_mm": 420, "outer_radius_mm": 92, "centre_deg": 0,
               "arc_deg": 150, "drills_mm": [12, 16], "most_depth_mm": 32}],
 "history": [{"run": [{"amount": 41.2, "angle_deg": 171}, {"amount": 22.7, "angle_deg": 12}]},
             {"cuts": [{"station": "front 1", "angle_deg": 168, "grams": 26.2, "diameter_mm": 16},
                       {"station": "rear 1", "angle_deg": 24, "grams": 10.6, "diameter_mm": 12}]},
             {"run": [{"amount": 16.1, "angle_deg": 178}, {"amount": 13.2, "angle_deg": 2}]}]}"""

SUBJECT = Subject(
    words="the next cuts from runs, cuts and stations; depths, what the next run should show, and the chances",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example=_EXAMPLE,
    example_answer="""\
{"do": "cut", "why": "chance to be inside after it 1 %, to have taken too much 0.0 %", "cuts":
 [{"station": "front 1", "plane": 0, "angle_deg": 168.0, "grams": 9.160267547523645,
 "diameter_mm": 16.0, "depth_mm": 23.959126080190252, "from_depth_mm": 16.514285557645458,
 "deepens": true}, {"station": "front 1", "plane": 0, "angle_deg": 198.12775931815537, "grams":
 6.311907408019527, "diameter_mm": 12.0, "depth_mm": 6.095449316530758, "from_depth_mm": 0.0,
 "deepens": false}, {"station": "rear 1", "plane": 1, "angle_deg": 24.0, "grams":
 5.996518037639785, "diameter_mm": 12.0, "depth_mm": 19.4581470912951, "from_depth_mm":
 11.393119367757352, "deepens": true}, {"station": "rear 1", "plane": 1, "angle_deg":
 346.59152040038936, "grams": 6.731497939884785, "diameter_mm": 12.0, "depth_mm":
 6.599113857804853, "from_depth_mm": 0.0, "deepens": false}], "expected": [{"amount":
 2.240274300492149, "angle_deg": 167.57682135188793, "standard_uncertainty_g":
 0.8564059861913188}, {"amount": 1.720285638597701, "angle_deg": 348.84766627441866,
 "standard_uncertainty_g": 0.7858830485294448}], "chance_done": 0.005859375, "chance_too_far":
 0.0004504091679243669, "add_metal": [], "planes": ["outside", "outside"], "answer": [[{"amount":
 0.98827554807442, "angle_deg": 359.718828118047}, {"amount": 0.07326014440458774, "angle_deg":
 0.20655570753818495}], [{"amount": 0.020629808209427235, "angle_deg": 3.675681111558081},
 {"amount": 0.9820647587668103, "angle_deg": 359.7571615956034}]], "answer_in_words":
 ["1 g at front 1 takes 0.99 g off the front and 0.02 g off the rear",
 "1 g at rear 1 takes 0.98 g off the rear and 0.07 g off the front"]}""",
    fields={"reading": "history", "tolerance_g": "planes", "radius_mm": "planes.radius_mm"},
)

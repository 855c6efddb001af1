"""What a person reads when a computation refuses: what was found, and what is wanted, word by word."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from bench.computation import (
    bobweight,
    bracketed_root,
    control_chart,
    drill,
    engine,
    engine_forces,
    engine_layouts,
    index_balancing,
    influence,
    match,
    part_set,
    piston_motion,
    rebuild,
    sample_statistics,
    scale_check,
    shims,
    transfer,
    unbalance,
    unbalance_units,
    uncertainty_budget,
    weighing,
)
from bench.computation.errors import QuantityError
from bench.computation.vectors import Vector, sum_of

NAN = math.nan
ONE, TWO = Vector(1.0, 0.0), Vector(2.0, 90.0)
ROD = bobweight.RodParts(
    piston_g=603.7, rings_g=30.1, pin_g=188.5, locks_g=2.9, rod_small_end_g=250.0, rod_whole_g=818.2
)
THROW = bobweight.ThrowParts(rods=(ROD,), rod_bearings_g=50.0, oil_g=6.0)
STEEL = drill.Drill(diameter_mm=12.7, point_deg=118.0, outer_radius_mm=88.0, density_g_cm3=7.85)
RUNNING = engine_forces.RunningEngine(
    reciprocating_g=700.0, crank_radius_mm=44.0, rod_length_mm=155.0, speed_rpm=4600.0, mm_per_position=110.0
)
PLACED = transfer.PlacedUnbalance(ONE, 0.0)
OLD = rebuild.RebuiltThrow(pin_deg=0.0, position_mm=0.0, old_bobweight_g=2300.0, new_bobweight_g=2310.0)
PIN = match.MatchKind((1.0, 2.0), loose=True)
STOCK = {"washer": shims.StockPiece(20.0, 4)}


def throw_of(**changed: float | None) -> bobweight.Bobweight:
    rods = (replace(ROD, **changed),)
    return bobweight.bobweight(replace(THROW, rods=rods), reciprocating_share=0.5)


def answer(initial: list[Vector], trials: list[tuple[int, Vector, tuple[Vector, ...]]]) -> influence.InfluenceAnswer:
    return influence.influence_answer(
        initial, [influence.TrialRun(*run) for run in trials], trial_weights_left_on=False
    )


def rebuilt(**changed: object) -> rebuild.RebuiltCrank:
    good: dict[str, object] = {
        "throws": [OLD], "crank_radius_mm": 44.0, "plane_positions_mm": [0.0], "plane_radii_mm": [88.0],
    }  # fmt: skip
    figures = {**good, **changed}
    throws = figures.pop("throws")
    return rebuild.rebuilt_crank(throws, **figures)  # type: ignore[arg-type]


def matched(kinds: dict[str, match.MatchKind], cylinders: int = 2, **more: object) -> match.MatchAnswer:
    return match.best_match(kinds, cylinders=cylinders, seconds_left=lambda: 5.0, **more)  # type: ignore[arg-type]


def packed(stock: dict[str, shims.StockPiece], **figures: float) -> shims.ShimPack:
    return shims.shim_pack(stock, **{"target_g": 1042.0, "empty_g": 1000.0, "tolerance_g": 0.1, **figures})


def checked(**changed: object) -> scale_check.ScaleCheck:
    good: dict[str, object] = {
        "shown_g": 1000.0, "nominal_g": 1000, "weight_class": "M1", "division_g": 0.1,
        "scale_class": scale_check.ScaleClass.II,
    }  # fmt: skip
    return scale_check.scale_check(**{**good, **changed})  # type: ignore[arg-type]


def left(**changed: float) -> engine_forces.LeftOver:
    inertia = engine.engine_inertia(engine_layouts.inline((0.0,)))
    return engine_forces.left_over(inertia, replace(RUNNING, **changed), reciprocating_share=0.5)


CALLS: dict[str, Callable[[], object]] = {
    "no rods": lambda: bobweight.bobweight(replace(THROW, rods=()), reciprocating_share=0.5),
    "no rod on this pin": lambda: throw_of(count=0),
    "both whole and big end": lambda: throw_of(rod_big_end_g=500.0),
    "neither whole nor big end": lambda: throw_of(rod_whole_g=None),
    "small end above whole": lambda: throw_of(rod_whole_g=200.0),
    "negative piston": lambda: throw_of(piston_g=-1.0),
    "share above one": lambda: bobweight.bobweight(THROW, reciprocating_share=1.2),
    "negative oil uncertainty": lambda: bobweight.bobweight(
        THROW, reciprocating_share=0.5, uncertainty=bobweight.PartUncertainty(oil_g=-1.0)
    ),
    "uncertainty too large": lambda: bobweight.bobweight(
        THROW, reciprocating_share=0.5, uncertainty=bobweight.PartUncertainty(oil_g=1.7e308, rod_bearings_g=1.7e308)
    ),
    "no bracket": lambda: bracketed_root.bracketed_root(lambda x: x, low=1.0, high=2.0),
    "one check only": lambda: control_chart.deviation_from_moving_range([1.0]),
    "checks too far apart": lambda: control_chart.deviation_from_moving_range([1e308, -1e308]),
    "no check": lambda: control_chart.shewhart_chart([], centre=0.0, deviation=1.0),
    "weight above one": lambda: control_chart.ewma_chart([1.0], centre=0.0, deviation=1.0, weight=1.5),
    "upper limit too large": lambda: control_chart.shewhart_chart([1.0], centre=1.7e308, deviation=1e307),
    "lower limit too large": lambda: control_chart.shewhart_chart([1.0], centre=-1.7e308, deviation=1e307),
    "limits too far": lambda: control_chart.shewhart_chart([1.0], centre=0.0, deviation=1e308, width=2.0),
    "drill too wide": lambda: drill.curved_cap_volume(diameter_mm=200.0, outer_radius_mm=88.0),
    "hole too shallow": lambda: drill.hole_of_depth(STEEL, depth_mm=0.1),
    "hole too deep": lambda: drill.hole_of_depth(STEEL, depth_mm=90.0),
    "hole beyond its limit": lambda: drill.hole_of_depth(replace(STEEL, depth_limit_mm=20.0), depth_mm=21.0),
    "amount too small": lambda: drill.depth_for_amount(STEEL, amount_g_mm=1.0),
    "amount too large": lambda: drill.depth_for_amount(STEEL, amount_g_mm=1e5),
    "grams too small": lambda: drill.depth_for_grams(STEEL, grams=0.01),
    "grams too large": lambda: drill.depth_for_grams(STEEL, grams=1e5),
    "point too blunt": lambda: drill.hole_of_depth(replace(STEEL, point_deg=190.0), depth_mm=10.0),
    "slug too light": lambda: drill.hole_of_depth(replace(STEEL, slug_density_g_cm3=5.0), depth_mm=10.0),
    "point too long": lambda: drill.hole_of_depth(replace(STEEL, point_deg=5.0), depth_mm=10.0),
    "drill diameter too large": lambda: drill.hole_of_depth(
        replace(STEEL, diameter_mm=1e100, outer_radius_mm=1e101), depth_mm=1e100
    ),
    "density too large": lambda: drill.hole_of_depth(replace(STEEL, density_g_cm3=1e308), depth_mm=10.0),
    "moment too large": lambda: drill.hole_of_depth(replace(STEEL, density_g_cm3=3e306), depth_mm=10.0),
    "volume too large": lambda: drill.hole_of_depth(
        replace(STEEL, diameter_mm=1e70, outer_radius_mm=1e200), depth_mm=1e180
    ),
    "no cylinder": lambda: engine.engine_inertia([]),
    "positions too large": lambda: engine.engine_inertia(
        [engine.Cylinder(pin_deg=45.0, bank_deg=0.0, position=1.7e308)] * 2
    ),
    "rod shorter than crank": lambda: left(rod_length_mm=40.0),
    "force too large": lambda: left(reciprocating_g=1e306, speed_rpm=1e6),
    "no such layout": lambda: engine_layouts.layout_named("v7"),
    "one reading": lambda: index_balancing.index_parts([ONE], index_deg=[0.0]),
    "positions not as readings": lambda: index_balancing.index_parts([ONE, TWO], index_deg=[0.0]),
    "positions too near": lambda: index_balancing.index_parts([ONE, TWO], index_deg=[0.0, 5.0]),
    "no sensor": lambda: answer([], []),
    "no trial": lambda: answer([ONE], []),
    "plane out of range": lambda: answer([ONE], [(3, ONE, (TWO,))]),
    "plane twice": lambda: answer([ONE, ONE], [(0, ONE, (TWO, ONE)), (0, ONE, (ONE, TWO))]),
    "no trial weight": lambda: answer([ONE], [(0, Vector(0.0, 0.0), (TWO,))]),
    "reading missing": lambda: answer([ONE, ONE], [(0, ONE, (TWO,))]),
    "plane moves nothing": lambda: answer([ONE], [(0, ONE, (ONE,))]),
    "planes alike": lambda: answer([ONE, ONE], [(0, ONE, (TWO, ONE)), (1, ONE, (TWO, ONE))]),
    "coefficient too large": lambda: answer([ONE], [(0, Vector(1e-9, 0.0), (Vector(1e308, 0.0),))]),
    "answer too large": lambda: answer([Vector(1e200, 0.0)], [(0, Vector(1e306, 0.0), (Vector(1e200 * 1.0001, 0.0),))]),
    "too many cylinders": lambda: matched({"pin": PIN}, 65),
    "no kind": lambda: matched({}),
    "weights not as cylinders": lambda: matched({"pin": PIN}, 3),
    "weight not positive": lambda: matched({"pin": match.MatchKind((1.0, -2.0), loose=True)}),
    "weight too large": lambda: matched({"pin": match.MatchKind((1.0, 2e9), loose=True)}),
    "cylinder on no throw": lambda: matched({"pin": PIN}, throws=[[1]]),
    "empty throw": lambda: matched({"pin": PIN}, throws=[[1, 2], []]),
    "no part": lambda: part_set.part_set([], limit_g=1.0),
    "limit not positive": lambda: part_set.part_set([1.0], limit_g=0.0),
    "rod too short for lambda": lambda: piston_motion.piston_harmonic(2, lambda_=0.995),
    "no such order": lambda: piston_motion.piston_harmonic(61, lambda_=0.3),
    "no throw": lambda: rebuilt(throws=[]),
    "radius missing": lambda: rebuilt(plane_radii_mm=[]),
    "radius not positive": lambda: rebuilt(plane_radii_mm=[-1.0]),
    "crank too large": lambda: rebuilt(crank_radius_mm=1e308),
    "plane radius too small": lambda: rebuilt(plane_radii_mm=[1e-307]),
    "one value": lambda: sample_statistics.sample([1.0]),
    "two points": lambda: sample_statistics.fitted_line([1.0, 2.0], [1.0, 2.0]),
    "ys missing": lambda: sample_statistics.fitted_line([1.0, 2.0, 3.0], [1.0]),
    "xs all one": lambda: sample_statistics.fitted_line([1.0, 1.0, 1.0], [1.0, 2.0, 3.0]),
    "slope too large": lambda: sample_statistics.fitted_line([0.0, 1e154, 0.0], [0.0, 1.7e154, -1e154]),
    "load too large": lambda: scale_check.scale_error_limit(
        2000.0, division_g=1.0, scale_class=scale_check.ScaleClass.IIII, in_service=False
    ),
    "no such class": lambda: checked(weight_class="gold"),
    "no such weight": lambda: checked(nominal_g=1500),
    "nothing shown": lambda: checked(shown_g=NAN),
    "no stock": lambda: packed({}),
    "piece too heavy": lambda: packed({"washer": shims.StockPiece(2e6, 4)}),
    "count negative": lambda: packed({"washer": shims.StockPiece(2.0, -4)}),
    "target too heavy": lambda: packed(STOCK, target_g=2e6),
    "empty above target": lambda: packed(STOCK, empty_g=1050.0),
    "no unbalance": lambda: transfer.transferred([], planes=[0.0]),
    "three planes": lambda: transfer.transferred([PLACED], planes=[0.0, 1.0, 2.0]),
    "planes at one place": lambda: transfer.transferred([PLACED], planes=[2.0, 2.0]),
    "planes too far apart": lambda: transfer.transferred([PLACED], planes=[-1e308, 1e308]),
    "lever too long": lambda: transfer.transferred([transfer.PlacedUnbalance(ONE, 1e308)], planes=[0.0, 1e-9]),
    "sum too large": lambda: sum_of([Vector(1.7e308, 0.0)] * 2),
    "length of a sum too large": lambda: transfer.transferred(
        [transfer.PlacedUnbalance(Vector(1.7e308, 0.0), 0.0), transfer.PlacedUnbalance(Vector(1.7e308, 90.0), 0.0)],
        planes=[0.0],
    ),
    "no limit": lambda: unbalance.stricter_limit_g(shop_limit_g=None, grade_limit_g_mm=None, radius_mm=1.0),
    "unit too large": lambda: unbalance_units.converted(
        1e308, source=unbalance_units.UnbalanceUnit.KG_M, target=unbalance_units.UnbalanceUnit.G_MM
    ),
    "no term": lambda: uncertainty_budget.combined_budget([]),
    "no freedom": lambda: uncertainty_budget.combined_budget([uncertainty_budget.BudgetTerm("a", 1.0, 1.0, 0.0)]),
    "no weighing": lambda: weighing.weighing_budget(
        weighing.ScaleTerms(division_g=0.1, repeatability_g=0.1), load_g=1.0, weighings=0
    ),
    "no load": lambda: weighing.weighing_budget(weighing.ScaleTerms(division_g=0.1, repeatability_g=0.1), load_g=0.0),
}
WORDS: dict[str, str] = json.loads(Path(__file__).with_name("messages.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", CALLS)
def test_words(name: str) -> None:
    with pytest.raises(QuantityError) as caught:
        CALLS[name]()
    assert str(caught.value) == WORDS[name]


def test_no_words_without_a_call() -> None:
    assert list(WORDS) == list(CALLS)

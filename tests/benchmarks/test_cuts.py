"""What planning costs with many stations and drills, and over many runs: ratios within one process.

Absolute figures are printed: run with ``-s``.
"""

from __future__ import annotations

import gc
import statistics
import time
import tracemalloc
from collections.abc import Callable

import pytest

from bench.computation.answer_model import AnswerModel
from bench.computation.counterweight_stations import CounterweightPlace, PlaneGeometry, stations_from
from bench.computation.cut_planner import plan_cuts
from bench.computation.cut_scatter import Cut
from bench.computation.stations import Station

PLANES = PlaneGeometry(positions_mm=(0.0, 450.0), radii_mm=(90.0, 90.0))


def measured_stations(*, each: int, drills_mm: tuple[float, ...]) -> tuple[Station, ...]:
    """Return so many stations at each end."""
    return stations_from(
        [
            CounterweightPlace(
                name=f"{end} {i + 1}",
                plane_index=plane,
                position_mm=at + inward * 15.0 * i,
                outer_radius_mm=92.0,
                drills_mm=drills_mm,
                most_depth_mm=28.0,
                centre_deg=middle,
                arc_deg=140.0,
            )
            for plane, (end, at, inward, middle) in enumerate((("front", 10.0, 1, 180.0), ("rear", 440.0, -1, 0.0)))
            for i in range(each)
        ],
        PLANES,
    )


def spun(stations: tuple[Station, ...]) -> AnswerModel:
    """Return a model after two runs and a first cut in each plane."""
    model = AnswerModel.start(stations).first_reading([61.0 + 9.0j, 44.0 - 12.0j])
    first = [
        Cut(next(s.name for s in stations if s.plane_index == p), angle, 20.0) for p, angle in ((0, 150.0), (1, 20.0))
    ]
    model, _ = model.after_cuts(first).update([-60.0 + 2.0j, 24.0 - 18.0j])
    return model


def seconds(work: Callable[[], object], times: int = 7) -> float:
    """Return the median time of some work."""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


@pytest.mark.long
def test_eight_stations_with_three_drills_cost_no_more_than_their_number() -> None:
    few = spun(measured_stations(each=1, drills_mm=(12.0,)))
    many = spun(measured_stations(each=4, drills_mm=(10.0, 12.0, 16.0)))
    assert len(many.stations) == 8
    plan_cuts(few, tolerance_g=[1.0, 1.0])
    small = seconds(lambda: plan_cuts(few, tolerance_g=[1.0, 1.0]))
    large = seconds(lambda: plan_cuts(many, tolerance_g=[1.0, 1.0]))
    print(
        f"\nplan with 2 stations, 1 drill: {small * 1e3:.0f} ms; 8 stations, 3 drills: {large * 1e3:.0f} ms of one core"
    )
    # four times the stations with three times the drills: the choices are twelve times as many
    assert large <= 12.0 * small


@pytest.mark.long
def test_memory_is_flat_over_two_hundred_runs() -> None:
    def go_on(model: AnswerModel, runs: int) -> AnswerModel:
        for _ in range(runs):
            plan = plan_cuts(model, tolerance_g=[0.3, 0.3])
            model, _ = model.update([complex(z) for z in plan.left])
        return model

    model = go_on(spun(measured_stations(each=2, drills_mm=(12.0, 16.0))), 20)
    tracemalloc.start()
    try:
        gc.collect()
        before = tracemalloc.get_traced_memory()[0]
        model = go_on(model, 100)
        gc.collect()
        half = tracemalloc.get_traced_memory()[0]
        model = go_on(model, 100)
        gc.collect()
        whole = tracemalloc.get_traced_memory()[0]
    finally:
        tracemalloc.stop()
    print(f"\nkept after 100 runs: {half - before} bytes; after 200: {whole - before} bytes")
    assert whole - before < 200_000
    assert whole - half < 50_000

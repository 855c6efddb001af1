"""Reminders of the scale check, the level of rod ends, rods hung twice, shims from stock, the route kept with the job."""

from __future__ import annotations

from decimal import Decimal

import pytest
from a_bench import Bench, StillClock

from bench.capture.decisions import Live, Phase, Taken
from bench.computation.shims import StockPiece
from bench.models.job import Cell
from bench.trail.events import RouteChosen, ScaleChecked, TemperatureNoted
from bench.use_cases import commands as c
from bench.use_cases.due import Route, cells_on_route
from bench.use_cases.view import Doing, Step
from bench.use_cases.weigh_rules import WeighRules
from bench.use_cases.weigh_words import taken_words


def a_bench(**rules: object) -> Bench:
    bench = Bench(weighing=WeighRules(utc_now=lambda: bench.clock.moment, **rules))  # type: ignore[arg-type]
    bench.desk.handle(c.CreateJob(bench.spec))
    return bench


def check(bench: Bench, grams: str = "500.0") -> None:
    bench.desk.handle(c.CheckScale(Decimal(500)))
    bench.take(grams)
    bench.lift(key="scale check")


def empty_pan(bench: Bench, zero_g: float, shown: str) -> None:
    value = Decimal(shown)
    bench.decide(Live(0, value, "g", float(value) - zero_g, Phase.EMPTY))


def said(bench: Bench, words: str) -> int:
    return sum(words in notice.words for notice in bench.said)


def test_a_change_of_temperature_since_the_check_is_told_in_words() -> None:
    bench = a_bench()
    bench.desk.handle(c.NoteTemperature(18.0))
    check(bench)
    bench.desk.handle(c.NoteTemperature(22.9))
    assert "noted: 22.9 °C" in bench.words
    assert said(bench, "warmer than when") == 0
    bench.desk.handle(c.NoteTemperature(24.5))
    assert "6.5 °C warmer than when the scale was checked (18.0 °C, now 24.5 °C)" in bench.words
    check(bench)
    bench.desk.handle(c.NoteTemperature(19.0))
    assert "5.5 °C colder" in bench.words
    notes = [e.payload for e in bench.trail.events(job="2031-0001") if isinstance(e.payload, TemperatureNoted)]
    assert [n.celsius for n in notes] == [18.0, 22.9, 24.5, 19.0]


def test_a_temperature_nobody_can_work_in_is_refused_with_what_was_wanted() -> None:
    bench = a_bench()
    bench.desk.handle(c.NoteTemperature(215.0))
    assert "wanted -40 to 80 °C" in bench.words
    assert bench.scribe.state is not None
    assert not bench.scribe.state.temperatures


def test_a_thermometer_in_the_settings_counts_where_nobody_types() -> None:
    bench = a_bench(temperature_c=17.0)
    check(bench)
    state = bench.scribe.state
    assert state is not None
    assert [celsius for _, celsius in state.temperatures] == [17.0]
    # the next day, the same job, another temperature in the settings
    warmer = Bench(weighing=WeighRules(utc_now=bench.clock.utc_now, temperature_c=26.0))
    warmer.scribe.trail = bench.trail
    warmer.desk.handle(c.ChooseJob("2031-0001"))
    assert any("9.0 °C warmer" in n.words for n in warmer.said)


def test_a_job_resumed_days_later_is_told_that_its_check_is_old() -> None:
    bench = a_bench()
    check(bench)
    bench.desk.handle(c.LeaveJob())
    bench.clock.step(3 * 86400)
    bench.desk.handle(c.ChooseJob("2031-0001"))
    assert "checked 3 days ago, a check is good for 4 h here" in bench.words


@pytest.mark.parametrize("rules", [{"check_after_h": 0.0}, {"check_after_h": 100.0}])
def test_a_reminder_can_be_set_or_switched_off(rules: dict[str, float]) -> None:
    bench = a_bench(**rules)
    check(bench)
    bench.clock.step(90 * 3600)
    bench.desk.tick(bench.clock.monotonic_ns())
    assert said(bench, "a check is good for") == 0


def test_a_zero_that_wanders_is_told_once_and_a_key_is_no_wandering() -> None:
    bench = a_bench(check_after_divisions=5.0)
    check(bench)
    for step in range(5):
        empty_pan(bench, 0.1 * step, f"{0.1 * step:.1f}")
    empty_pan(bench, -216.0, "-216.0")  # tared with a part on: a jump
    assert said(bench, "has wandered") == 0
    empty_pan(bench, -215.9, "-215.9")
    empty_pan(bench, -215.8, "-215.8")
    assert said(bench, "the empty pan has wandered by +0.") == 1
    empty_pan(bench, -215.7, "-215.7")
    assert said(bench, "has wandered") == 1
    check(bench)
    empty_pan(bench, -215.7, "-215.7")
    empty_pan(bench, -215.3, "-215.3")
    assert said(bench, "has wandered") == 1


def test_nought_switches_wandering_and_temperature_off() -> None:
    bench = a_bench(check_after_divisions=0.0, check_after_degrees=0.0)
    bench.desk.handle(c.NoteTemperature(5.0))
    check(bench)
    bench.desk.handle(c.NoteTemperature(35.0))
    for step in range(20):
        empty_pan(bench, 0.1 * step, f"{0.1 * step:.1f}")
    assert said(bench, "warmer") == said(bench, "has wandered") == 0


def test_while_a_known_weight_is_due_the_view_says_what() -> None:
    bench = a_bench()
    assert bench.desk.view().aside == ""
    bench.desk.handle(c.CheckScale(Decimal(500)))
    assert bench.desk.view().aside == "known weight of 500 g"
    bench.take("500.0")
    assert bench.desk.view().aside == ""


def test_rod_ends_are_levelled_before_the_first_of_them_and_said_once() -> None:
    bench = a_bench()
    assert said(bench, "level the scale and the hanging fixture") == 0
    bench.desk.handle(c.GoTo(Cell(kind="rod_small_end", place=1)))
    assert said(bench, "both ends of the rod at one height") == 1
    assert "the small end over the middle of the pan" in next(n.words for n in bench.said if "spirit" in n.words)
    bench.take("181.0")
    bench.lift(key="rod_small_end 1")
    assert said(bench, "both ends of the rod at one height") == 1


def test_the_difference_of_two_hangings_is_told_beside_what_is_allowed() -> None:
    value = Decimal("187.4")
    twice = Taken(0, "rod_small_end 1", value, "g", value, 187.4, 0.1, False, (), (187.3, 187.5), 0.3)
    words = taken_words("rod 1", twice, 7)
    assert "mean of 187.3 and 187.5 g, 0.2 g apart, allowed 0.3 g" in words
    thrice = Taken(0, "rod_small_end 1", value, "g", value, 187.4, 0.9, True, (), (187.3, 188.9, 187.4), 0.3)
    assert "middle one of 187.3 and 188.9 and 187.4 g, 1.6 g apart, allowed 0.3 g" in taken_words("rod 1", thrice, 7)


def test_the_route_is_kept_with_the_job() -> None:
    bench = a_bench()
    bench.desk.handle(c.SetRoute(Route.BY_CYLINDER))
    bench.desk.handle(c.SetRoute(Route.BY_CYLINDER))
    chosen = [e.payload for e in bench.trail.events(job="2031-0001") if isinstance(e.payload, RouteChosen)]
    assert [r.route for r in chosen] == ["cylinder"]
    again = Bench(weighing=WeighRules(utc_now=bench.clock.utc_now))
    again.scribe.trail = bench.trail
    again.desk.handle(c.ChooseJob("2031-0001"))
    again.take("586.4")
    again.lift(key="piston 1")
    second = cells_on_route(again.spec, Route.BY_CYLINDER)[1]
    assert again.machine.due is not None
    assert again.machine.due.key == str(second) != "piston 2"
    # another job of the same desk goes by its own
    again.desk.handle(c.CreateJob(again.spec))
    again.take("586.4")
    again.lift(key="piston 1")
    assert again.machine.due is not None
    assert again.machine.due.key == "piston 2"


def test_no_route_without_a_job() -> None:
    bench = Bench()
    bench.desk.handle(c.SetRoute(Route.BY_CYLINDER))
    assert "no job is open" in bench.words


STOCK = {"washer 20 g": StockPiece(20.0, 8), "shim 1 g": StockPiece(1.0, 10), "shim 0.2 g": StockPiece(0.2, 10)}


def making(bench: Bench) -> float:
    for cell in cells_on_route(bench.spec, Route.BY_KIND):
        bench.desk.handle(c.TypeWeight(cell, Decimal("100.0"), "from the sheet"))
    bench.desk.handle(c.ShowStep(Step.BOBWEIGHTS))
    view = bench.desk.view()
    assert view.want.doing is Doing.MAKE
    assert view.want.target_g is not None
    return view.want.target_g


def lies(bench: Bench, missing_g: float, target_g: float, seconds: float) -> None:
    for tenth in range(round(10 * seconds)):
        shown = Decimal(f"{target_g - missing_g:.1f}")
        at_ns = int(1e9 * (bench.clock.monotonic_ns() / 1e9 + tenth / 10))
        bench.decide(Live(at_ns, shown, "g", float(shown), Phase.SETTLING, missing_g))
    bench.clock.step(seconds)


def test_shims_from_stock_are_proposed_once_the_bobweight_stands_still() -> None:
    bench = a_bench(stock=STOCK)
    target = making(bench)
    lies(bench, 42.4, target, 0.5)
    assert "stock" not in bench.desk.view().instruction.detail
    lies(bench, 42.4, target, 1.0)
    # by hand: 42.4 g in two equal halves are 21.2 g each: 20 + 1 + 0.2
    detail = bench.desk.view().instruction.detail
    assert detail.startswith(
        "from stock, on each half: 1 x washer 20 g, 1 x shim 1 g, 1 x shim 0.2 g (6 pieces; comes to"
    )
    lies(bench, 2.0, target, 1.5)
    assert "on each half: 1 x shim 1 g (2 pieces" in bench.desk.view().instruction.detail
    lies(bench, 0.1, target, 1.5)
    assert bench.desk.view().instruction.detail == "Add or take off until the difference is in the band."
    lies(bench, -3.0, target, 1.5)
    assert bench.desk.view().instruction.detail == "Add or take off until the difference is in the band."


def test_where_the_stock_does_not_reach_the_nearest_is_told() -> None:
    bench = a_bench(stock={"shim 1 g": StockPiece(1.0, 3)})
    target = making(bench)
    lies(bench, 42.4, target, 1.5)
    assert "the nearest from stock, on each half: 1 x shim 1 g (2 pieces" in bench.desk.view().instruction.detail
    lies(bench, 0.5, target, 1.5)
    assert bench.desk.view().instruction.detail == "nothing in stock brings it nearer, in pairs"
    bench.lift(key="")
    assert "stock" not in bench.desk.view().instruction.detail


def test_no_stock_no_proposal() -> None:
    bench = a_bench()
    target = making(bench)
    lies(bench, 42.4, target, 2.0)
    assert "stock" not in bench.desk.view().instruction.detail


def test_the_checks_stand_in_the_record_with_their_temperature() -> None:
    bench = a_bench(temperature_c=20.0)
    check(bench)
    kinds = [type(e.payload) for e in bench.trail.events(job="2031-0001")]
    assert kinds.index(TemperatureNoted) == kinds.index(ScaleChecked) - 1
    assert isinstance(bench.clock, StillClock)

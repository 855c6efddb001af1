"""The order of the sheet, a known weight on the scale, sums that must close."""

from __future__ import annotations

from decimal import Decimal

import pytest
from a_bench import Bench

from bench.capture.decisions import Doubted, Lifted, Live, PanCleared, Phase
from bench.models.job import Cell, JobSpec, PartKind, PartRole, cells_in_order
from bench.use_cases import commands as c
from bench.use_cases.due import Route, cells_on_route
from bench.use_cases.view import Doing, Step, Tone


@pytest.fixture
def bench() -> Bench:
    bench = Bench()
    bench.desk.handle(c.CreateJob(bench.spec))
    return bench


def both_ends_and_whole(spec: JobSpec) -> JobSpec:
    ends = (
        PartKind(name="rod_whole", label="rod, whole", role=PartRole.ROD_WHOLE),
        PartKind(name="rod_big_end", label="rod, big end hung", role=PartRole.ROD_BIG_END),
        PartKind(name="rod_small_end", label="rod, small end hung", role=PartRole.ROD_SMALL_END),
    )
    others = tuple(k for k in spec.kinds if not k.name.startswith(("rod_whole", "rod_big", "rod_small")))
    return spec.model_copy(update={"kinds": ends + others})


def test_the_route_by_cylinder_asks_for_every_part_of_one_before_the_next(bench: Bench) -> None:
    first = [k.name for k in bench.spec.kinds if k.per == "cylinder"]
    route = cells_on_route(bench.spec, Route.BY_CYLINDER)
    assert [cell.kind for cell in route[: len(first)]] == first
    assert {cell.place for cell in route[: len(first)]} == {1}
    assert set(route) == set(cells_in_order(bench.spec))
    bench.desk.handle(c.SetRoute(Route.BY_CYLINDER))
    bench.take("586.4")
    bench.lift(key="piston 1")
    assert bench.machine.due is not None
    assert bench.machine.due.key == f"{first[1]} 1"
    bench.desk.handle(c.SetRoute(Route.BY_KIND))
    assert bench.machine.due.key == "piston 2"


def test_the_first_reminder_asks_for_a_check_and_a_good_check_is_recorded_beside_the_sheet(bench: Bench) -> None:
    assert any("not checked yet: put a known weight on" in notice.words for notice in bench.said)
    bench.desk.handle(c.CheckScale(Decimal(500)))
    view = bench.desk.view()
    assert view.instruction.headline == "Lay the known weight of 500 g"
    assert view.want.doing is not Doing.LAY
    # OIML R 76-1, class II, in service: up to 5 000 e the limit is 1 e, here 0.1 g
    bench.take("500.1")
    assert bench.said[-1].tone is Tone.ACCEPT
    state = bench.scribe.state
    assert state is not None
    assert (state.scale_checks[-1].passed, state.scale_checks[-1].allowed_g) == (True, pytest.approx(0.1))
    assert not state.weighed
    bench.lift(key="scale check")
    assert bench.machine.due is not None
    assert bench.machine.due.key == "piston 1"


def test_a_wrong_scale_is_said_and_reminded_of(bench: Bench) -> None:
    bench.desk.handle(c.CheckScale(Decimal(500)))
    bench.take("500.3")
    spoken = [n for n in bench.said if "the scale is wrong" in n.words]
    assert spoken[0].tone is Tone.REFUSE
    assert "the last check of the scale failed" in bench.words
    assert bench.scribe.state is not None
    assert not bench.scribe.state.scale_checks[-1].passed


def test_no_such_weight_is_refused_and_the_sheet_goes_on(bench: Bench) -> None:
    bench.desk.handle(c.CheckScale(Decimal(333)))
    assert bench.said[-1].tone is Tone.REFUSE
    assert bench.desk.view().want.doing is Doing.LAY
    bench.desk.handle(c.ShowStep(Step.SPIN))
    bench.desk.handle(c.CheckScale(Decimal(500)))
    assert "urn to the weigh step" in bench.words


def test_any_other_wish_ends_a_check(bench: Bench) -> None:
    bench.desk.handle(c.CheckScale(Decimal(500)))
    bench.desk.handle(c.GoTo(Cell(kind="piston", place=2)))
    assert bench.desk.view().want.cell == Cell(kind="piston", place=2)


def test_hours_later_the_check_is_due_again(bench: Bench) -> None:
    bench.desk.handle(c.CheckScale(Decimal(500)))
    bench.take("500.0")
    bench.lift(key="scale check")
    bench.clock.step(3.9 * 3600)
    bench.desk.tick(bench.clock.monotonic_ns())
    assert "a check is good for" not in bench.words
    bench.clock.step(0.2 * 3600)
    bench.desk.tick(bench.clock.monotonic_ns())
    assert "checked 4 hours ago, a check is good for 4 h here" in bench.words


def test_all_parts_of_a_cylinder_close_on_their_sum_or_it_is_said(bench: Bench) -> None:
    bench.desk.handle(c.CheckAssembly(1))
    assert "not weighed yet" in bench.words
    bench.desk.handle(c.SetRoute(Route.BY_CYLINDER))
    kinds = [k for k in bench.spec.kinds if k.per == "cylinder"]
    for kind in kinds:
        bench.take("100.0")
        bench.lift(key=f"{kind.name} 1")
    alone = [k for k in kinds if k.role is not PartRole.ROD_SMALL_END]  # it lies there with the whole rod
    bench.desk.handle(c.CheckAssembly(1))
    assert bench.machine.due is not None
    assert bench.machine.due.nominal_g == pytest.approx(100.0 * len(alone))
    bench.take(str(Decimal("100.0") * len(alone)))
    assert bench.said[-1].tone is Tone.ACCEPT
    bench.desk.handle(c.CheckAssembly(1))
    bench.take(str(Decimal("100.0") * len(alone) + 5))
    assert any("exchanged or misread" in n.words for n in bench.said)
    assert bench.scribe.state is not None
    assert len(bench.scribe.state.notes) == 2


@pytest.mark.parametrize(("small", "closes"), [("178.8", True), ("176.8", False)])
def test_a_rods_ends_must_close_on_the_whole_rod(small: str, closes: bool) -> None:
    bench = Bench()
    bench.desk.handle(c.CreateJob(both_ends_and_whole(bench.spec)))
    bench.desk.handle(c.SetRoute(Route.BY_CYLINDER))
    for key, grams in (("rod_whole 1", "610.5"), ("rod_big_end 1", "431.6"), ("rod_small_end 1", small)):
        bench.take(grams)
        bench.lift(key=key)
    # hand arithmetic: 431.6 + 178.8 - 610.5 = -0.1 g, allowed 2 * sqrt 3 * 0.05 = 0.17 g
    assert any("fixture level" in n.words.replace("\n", " ") for n in bench.said) is not closes


def test_a_zero_that_turns_out_wrong_takes_back_what_rests_on_it(bench: Bench) -> None:
    for key, grams in (("piston 1", "586.4"), ("piston 2", "587.4"), ("piston 3", "587.6")):
        bench.take(grams)
        bench.decide(Lifted(0, key), PanCleared(0), Live(0, Decimal("0.0"), "g", 0.0, Phase.EMPTY))
    bench.decide(Doubted(0, "piston 2", "the zero was wrong"), Doubted(0, "piston 3", "the zero was wrong"))
    assert bench.scribe.state is not None
    assert set(bench.scribe.state.weighed) == {Cell(kind="piston", place=1)}
    assert bench.machine.due is not None
    assert bench.machine.due.key in {"piston 2", "piston 3"}
    bench.take("586.5")
    bench.lift(key=bench.machine.due.key)
    bench.take("586.6")
    assert len(bench.scribe.state.weighed) == 3


def test_a_doubt_leaves_alone_what_was_typed_over_since(bench: Bench) -> None:
    bench.take("586.4")
    bench.lift(key="piston 1")
    bench.desk.handle(c.TypeWeight(Cell(kind="piston", place=1), Decimal("586.9"), "other scale"))
    bench.decide(Doubted(0, "piston 1", "the zero was wrong"))
    assert bench.scribe.state is not None
    assert bench.scribe.state.weighed[Cell(kind="piston", place=1)].grams == Decimal("586.9")


def test_a_doubt_that_comes_when_another_part_lies_there_waits_for_it(bench: Bench) -> None:
    first, second = (Cell(kind="piston", place=place) for place in (1, 2))
    bench.take("586.4")
    bench.decide(Doubted(0, "piston 1", "it did not stand still", next_lies=True))
    assert bench.scribe.state is not None
    assert first not in bench.scribe.state.weighed
    assert "asked for again after this one" in bench.words
    assert bench.machine.due is not None
    assert bench.machine.due.key == "piston 2"
    bench.take("587.4")
    assert set(bench.scribe.state.weighed) == {second}
    assert bench.machine.due.key == "piston 1"
    bench.lift(key="piston 2")
    bench.take("586.5")
    assert set(bench.scribe.state.weighed) == {first, second}
    assert bench.machine.due.key == "piston 3"


def test_what_is_owed_is_not_asked_for_when_it_was_typed_meanwhile(bench: Bench) -> None:
    bench.take("586.4")
    bench.decide(Doubted(0, "piston 1", "it did not stand still", next_lies=True))
    bench.desk.handle(c.TypeWeight(Cell(kind="piston", place=1), Decimal("586.9"), "other scale"))
    bench.take("587.4")
    assert bench.machine.due is not None
    assert bench.machine.due.key == "piston 3"


def test_what_is_owed_is_forgotten_when_the_work_goes_on_elsewhere(bench: Bench) -> None:
    # the cell is open and comes in its turn; it may not follow into another job, which may not have such a part
    bench.take("586.4")
    bench.decide(Doubted(0, "piston 1", "it did not stand still", next_lies=True))
    bench.desk.handle(c.GoTo(Cell(kind="piston", place=4)))
    bench.take("587.4")
    assert bench.machine.due is not None
    assert bench.machine.due.key == "piston 5"

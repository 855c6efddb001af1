"""A profile that the dashboard keeps: where it lies, what it is called, and that texts are read with it at once."""

from __future__ import annotations

import os
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bench.command_line.checked_profiles import CheckedProfiles
from bench.command_line.places import Places
from bench.command_line.settings import read_settings
from bench.command_line.wiring import RunningBench, start_bench
from bench.computation.angle_check import AngleCheck
from bench.use_cases import commands as c
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.errors import RefusedError
from bench.use_cases.keep_profile import KEEP
from bench.use_cases.view import BenchView
from drivers.contract import ExportReader, ExportText, SpinReading

CLOCKWISE = AngleCheck(
    mirrored=True, turned_by_deg=-20.0, share_shown=1.0, far_share=0.0, misfit_g=0.0, clear=True, planes_swapped=False
)
TOLD = c.CheckMachine("front", 10.0, (0.0, 90.0))


@pytest.fixture
def places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Places:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    return Places(tmp_path / "home")


def text_of(number: int, grams: float, degrees: float) -> ExportText:
    block = (
        f"RUN {number}\r\nSPEED 500 rpm\r\nFRONT AMOUNT {grams:.2f} g ANGLE {degrees:.1f} deg\r\n"
        f"REAR AMOUNT 0.10 g ANGLE 0.0 deg\r\nEND RUN\r\n"
    )
    return ExportText(f"run-{number}.txt", block.encode(), f"{number:064d}")


def test_it_lies_with_the_shops_profiles_stands_in_the_settings_and_is_read_with(places: Places) -> None:
    settings, _ = read_settings(places.settings)
    given: list[ExportReader] = []
    keeper = CheckedProfiles(places, settings, given.append)
    assert keeper.next_name() == "keyed-block-checked"
    kept = keeper.keep_checked(CLOCKWISE, TOLD, day="2031-03-01", name=keeper.next_name())
    assert Path(kept.path).parent == places.profiles
    told = tomllib.loads(Path(kept.path).read_text())
    assert (told["angle"]["sense"], told["angle"]["zero_deg"]) == ("clockwise", -20.0)
    assert told["checked"] == "2031-03-01, 10 g at the front at 0, 90 degrees"
    assert read_settings(places.settings)[0].balancer.profile == "keyed-block-checked"
    # a mass at 90 degrees shows at -90 - 20 on this machine
    ((run,),) = [reader.read(text_of(1, 10.0, 250.0).data) for reader in given]
    assert isinstance(run, SpinReading)
    assert run.planes[0].heavy_angle_deg == pytest.approx(90.0)
    # checked again, the next one has a name of its own and the first is not written over
    assert keeper.next_name() == "keyed-block-checked-2"
    with pytest.raises(RefusedError, match="there is one of that name"):
        keeper.keep_checked(CLOCKWISE, TOLD, day="2031-03-02", name="keyed-block-checked")


def test_runs_that_do_not_tell_save_nothing(places: Places) -> None:
    settings, _ = read_settings(places.settings)
    unclear = AngleCheck(
        mirrored=True, turned_by_deg=0.0, share_shown=1.0, far_share=0.0, misfit_g=9.0, clear=False, planes_swapped=False
    )  # fmt: skip
    with pytest.raises(RefusedError, match="nothing was saved"):
        CheckedProfiles(places, settings).keep_checked(unclear, TOLD, day="2031-03-01", name="x")
    assert not places.profiles.exists() or not list(places.profiles.iterdir())
    assert not places.settings.exists()


@pytest.fixture
def running(places: Places) -> Iterator[RunningBench]:
    settings, _ = read_settings(places.settings, {("by",): "mk"})
    bench = start_bench(places, settings)
    yield bench
    bench.stop()


def until(bench: RunningBench, right: Callable[[BenchView], bool]) -> BenchView:
    for _ in range(400):
        view = bench.desk.view()
        if right(view):
            return view
        time.sleep(0.02)
    raise AssertionError(bench.desk.view().notice)


def test_the_running_bench_reads_the_next_text_with_it(running: RunningBench, places: Places) -> None:
    spec = demo_spec().model_copy(update={"kinds": (), "simulated": False})
    running.desk.ask(c.CreateJob(spec))
    running.desk.ask(c.ShowStep(c.Step.SPIN))
    for number, (grams, degrees) in enumerate([(0.0, 0.0), (10.0, 340.0), (10.0, 250.0)], start=1):
        running.desk.text_came(text_of(number, grams, degrees))
    running.desk.ask(TOLD)
    asked = until(running, lambda view: view.question is not None)
    assert asked.question is not None
    assert "keyed-block-checked" in asked.question.words
    running.desk.ask(c.Answer(KEEP))
    until(running, lambda view: view.question is None)
    running.desk.text_came(text_of(9, 4.0, 250.0))
    view = until(running, lambda view: view.job is not None and len(view.job.spins) == 2)
    assert view.job is not None
    assert view.job.spins[-1].planes[0].angle_deg == pytest.approx(90.0)
    assert (places.profiles / "keyed-block-checked.toml").exists()

"""A bench whose scale or machine is read by a foreign driver: it weighs, and it goes on when the driver does not."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from bench.command_line import safe_mode
from bench.command_line.places import Places
from bench.command_line.plug_in_wiring import print_of_plug_in
from bench.command_line.settings import InstrumentSettings, Settings
from bench.command_line.wiring import RunningBench, start_bench
from bench.use_cases.commands import CreateJob, WriteNote
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.view import BenchView
from drivers import driver_points
from drivers.contract import ExportText, LinkChange, LinkState

MODULE = """
import time
from drivers.scales.streaming import StreamingScale
from drivers.contract import Condition, Reading
from decimal import Decimal

class Scale:
    profile_name = "far"
    @classmethod
    def from_profile(cls, profile): return cls()
    def feed(self, chunk, at_ns):
        if b"crash" in chunk: raise KeyError("half")
        if b"hang" in chunk: time.sleep(600)
        return [Reading(at_ns, Decimal(chunk.decode()), "g", Condition.WEIGHT, True, None, chunk)]
    def link_lost(self): pass

class Reader:
    profile_name = "far"
    @classmethod
    def from_profile(cls, profile): return cls()
    def read(self, data): raise SystemExit
"""


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], RunningBench]]:
    (tmp_path / "far_bench.py").write_text(MODULE)
    monkeypatch.syspath_prepend(str(tmp_path))
    ours = driver_points.entry_points
    points = {
        "spinledger.scales": EntryPoint("far", "far_bench:Scale", "spinledger.scales"),
        "spinledger.balancers": EntryPoint("far-text", "far_bench:Reader", "spinledger.balancers"),
    }
    monkeypatch.setattr(driver_points, "entry_points", lambda *, group: [*ours(group=group), points[group]])
    running: list[RunningBench] = []
    names = ("far", "far-text")
    files = {name: print_of_plug_in(name) for name in names}

    def begin() -> RunningBench:
        settings = Settings(
            by="mk",
            plugins=" ".join(names),
            plugin_files=files,
            scale=InstrumentSettings(name="scale", profile="far"),
            balancer=InstrumentSettings(name="balancer", profile="far-text"),
        )
        running.append(start_bench(Places(tmp_path / "home"), settings))
        return running[-1]

    yield begin
    for one in running:
        one.stop()


def until(running: RunningBench, seen: Callable[[BenchView], object], *, within_s: float = 10.0) -> BenchView:
    end = time.monotonic() + within_s
    while time.monotonic() < end:
        view = running.desk.view()
        if seen(view):
            return view
        time.sleep(0.01)
    raise AssertionError(running.desk.view())


def all_words(view: BenchView) -> str:
    return repr(view)


@pytest.mark.parametrize("what", [b"crash", b"hang"])
def test_the_bench_goes_on_and_says_so(start: Callable[[], RunningBench], what: bytes, monkeypatch) -> None:
    from drivers.apart import plug_in

    monkeypatch.setattr(plug_in.PlugInProcess.__init__, "__kwdefaults__", {"profile": None, "longest_s": 1.5})
    running = start()
    desk = running.desk
    desk.ask(CreateJob(spec=demo_spec()))
    desk.link_changed(LinkChange(1, LinkState.OPEN))
    until(running, lambda view: view.job)
    lines: list[object] = []
    said: list[object] = []
    desk.watch_lines(lines.append)
    desk.hear(said.append)
    desk.bytes_came(b"603.8", 10**9)
    until(running, lambda _: lines)
    desk.bytes_came(what, 2 * 10**9)
    begun = time.monotonic()
    desk.ask(WriteNote(text="the bench goes on"))
    until(running, lambda _: "noted" in repr(said))
    assert time.monotonic() - begun < 1.0  # nobody waited for the driver
    view = until(running, lambda view: "plug-in far was ended" in all_words(view))
    assert "start again, or choose another profile" in all_words(view)
    until(running, lambda _: any("plug-in far was ended" in repr(one) for one in said))
    # the link may say that it is open: nothing is read, and that is what is said
    desk.link_changed(LinkChange(3 * 10**9, LinkState.LOST))
    desk.link_changed(LinkChange(4 * 10**9, LinkState.OPEN))
    until(running, lambda view: "plug-in far was ended" in all_words(view))


def test_a_text_that_ends_the_reader_is_told(start: Callable[[], RunningBench]) -> None:
    running = start()
    running.desk.ask(CreateJob(spec=demo_spec()))
    running.desk.text_came(ExportText("run.txt", b"7", "0" * 64))
    until(running, lambda view: "plug-in far-text was ended: it asked its process to end" in all_words(view))


def test_in_safe_mode_the_bench_starts_and_says_why_nothing_is_read(
    start: Callable[[], RunningBench], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(safe_mode, "_chosen", [True])
    running = start()
    running.desk.link_changed(LinkChange(1, LinkState.OPEN))
    until(running, lambda view: "in safe mode no plug-in runs" in all_words(view))


def test_the_bench_starts_when_a_file_of_the_plug_in_changed(start: Callable[[], RunningBench], tmp_path: Path) -> None:
    (tmp_path / "far_bench.py").write_text(MODULE + "\nprint('other')\n")
    running = start()
    running.desk.link_changed(LinkChange(1, LinkState.OPEN))
    view = until(running, lambda view: "not what was allowed" in all_words(view))
    assert "settings --set plugins" in all_words(view)

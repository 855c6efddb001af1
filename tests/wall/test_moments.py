"""What the wall shows, how it gets there, and that nothing is written or opened while no wall asks."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from trail_pieces import SetClock, one_of_each, opening, run, weight

import bench.wall
from bench.models.job_state import JobState
from bench.screens.palette import SHADES
from bench.trail.events import Draft
from bench.trail.fold import fold
from bench.trail.memory import MemoryTrail
from bench.use_cases import view as v
from bench.use_cases.propose_cuts import propose_cuts
from bench.use_cases.review_job import review_job
from bench.wall.live_file import HEAD, LiveReader, LiveWriter, wanted_file
from bench.wall.moments import moment_of, plain

PAGE = Path(bench.wall.__file__).parent / "page"


def job(*drafts: Draft) -> JobState:
    trail = MemoryTrail(bench="south", clock=SetClock())
    trail.append([opening(), *drafts])
    return fold(trail.events())


def view_of(state: JobState, **more: object) -> v.BenchView:
    review = review_job(state)
    view = v.BenchView(job=state, review=review, proposal=propose_cuts(state, review), shown_step=review.step)
    return replace(view, **more)


class TestMoments:
    def test_what_is_due_and_what_the_scale_shows(self) -> None:
        state = job(weight("412.3"), run(1, 4.0, 0.5))
        moment = moment_of(
            view_of(
                state,
                instruction=v.Instruction("Lay piston 2 of 2", "the lighter one"),
                live=v.LiveLine("412.9", "g", "settling", -0.4),
                notice=v.Notice(3, "piston 1 taken", v.Tone.ACCEPT, "good"),
                instruments=(v.InstrumentLine("scale", "lost"), v.InstrumentLine("balancer", "open")),
            )
        )
        assert moment["headline"] == "Lay piston 2 of 2"
        assert moment["live"] == {"shown": "412.9", "unit": "g", "phase": "settling", "difference": -0.4}
        assert moment["instruments"] == [{"name": "scale", "state": "lost"}]
        assert moment["sets"][0] == {"label": "piston", "done": 1, "of": 2, "spread": 0.0, "out": False}
        front = moment["planes"][0]
        assert (front["plane"], front["limit"], front["verdict"]) == ("front", 1.0, "outside")
        assert front["runs"] == [[1, 4.0, 30.0]]

    def test_nothing_of_the_customer(self) -> None:
        state = job(*one_of_each()[1:3])
        text = json.dumps(moment_of(view_of(state)))
        assert state.spec.title in text
        assert state.spec.customer not in text
        assert state.spec.serial not in text

    def test_an_empty_bench(self) -> None:
        moment = moment_of(v.BenchView())
        assert moment["job"] is None
        assert moment["planes"] == []

    @pytest.mark.parametrize("bad", ["\x1b]0;x\x07", "a\u202eb", "\0", "\u2066", "\ud800", "x\u200by"])
    def test_text_from_outside_acts_on_nobody(self, bad: str) -> None:
        assert not re.search(
            "[\\x00-\\x1f\\x7f-\\x9f\\u200b-\\u200f\\u202a-\\u202e\\u2066-\\u2069\\ud800-\\udfff]", plain(bad)
        )
        moment = moment_of(v.BenchView(instruction=v.Instruction(bad + "<script>alert(1)</script>")))
        json.dumps(moment).encode("utf-8")
        assert "<script>" in moment["headline"]  # kept as words; the page sets words as text only

    def test_no_number_is_not_a_number(self) -> None:
        assert moment_of(v.BenchView(live=v.LiveLine(difference_g=float("nan"))))["live"]["difference"] is None


class TestThePage:
    def test_nothing_from_outside_and_nothing_inline(self) -> None:
        for path in PAGE.iterdir():
            text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
            assert not re.search(r"https?:|//[a-z]|@import|url\(", text), path.name
            if path.suffix == ".html":
                assert "<style" not in text
                assert not re.search(r"<script(?! src=\"[a-z]+\.js\" defer)", text)
                assert not re.search(r"\son[a-z]+=|\sstyle=", text)
            if path.suffix == ".js":
                assert not re.search(
                    r"innerHTML|outerHTML|insertAdjacent|document\.write|eval\(|Function\(|setAttribute\(\"on", text
                )

    def test_the_wall_asks_for_moments_only(self) -> None:
        script = (PAGE / "wall.js").read_text(encoding="utf-8")
        assert re.findall(r"fetch|XMLHttpRequest|sendBeacon|WebSocket|new EventSource\([^)]*\)", script) == [
            'new EventSource("moments")'
        ]

    @pytest.mark.parametrize(("theme", "place"), [("dusk", 0), ("chalk", 1)])
    def test_colours_are_those_of_the_dashboard(self, theme: str, place: int) -> None:
        from dataclasses import asdict

        css = (PAGE / "wall.css").read_text(encoding="utf-8")
        told = dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6})", css.split(":root")[1 + place]))
        assert told == asdict(SHADES[theme])


def wait_for(there: Callable[[], object], seconds: float = 5.0) -> object:
    until = time.monotonic() + seconds
    while not (found := there()):
        assert time.monotonic() < until
        time.sleep(0.005)
    return found


class TestTheLiveFile:
    def test_nothing_is_written_while_nobody_asks(self, tmp_path: Path) -> None:
        writer = LiveWriter(tmp_path / "live.view")
        writer.take(v.BenchView())
        time.sleep(0.7)
        writer.stop()
        assert list(tmp_path.iterdir()) == []

    def test_a_moment_reaches_the_wall_and_grows_old(self, tmp_path: Path) -> None:
        live = tmp_path / "live.view"
        reader, writer = LiveReader(live), LiveWriter(live)
        assert reader.look() is None
        writer.take(v.BenchView(live=v.LiveLine("1.0")))
        wait_for(reader.look)
        began = time.monotonic()
        writer.take(v.BenchView(live=v.LiveLine("2.0")))
        wait_for(lambda: (moment := reader.look()) and moment["live"]["shown"] == "2.0")
        assert time.monotonic() - began < 2.0
        writer.stop()
        wait_for(lambda: reader.look() is None)

    def test_what_an_earlier_run_left_is_not_shown(self, tmp_path: Path) -> None:
        live = tmp_path / "live.view"
        wanted_file(live).touch()
        writer = LiveWriter(live)
        writer.take(v.BenchView())
        wait_for(live.exists)
        writer.stop()
        reader = LiveReader(live)
        for _ in range(5):
            assert reader.look() is None

    def test_half_a_moment_is_never_shown(self, tmp_path: Path) -> None:
        """A writer in mid-write is seen as nothing new, whatever it leaves."""
        live = tmp_path / "live.view"
        wanted_file(live).touch()
        writer = LiveWriter(live)
        writer.take(v.BenchView(live=v.LiveLine("1.0")))
        wait_for(live.exists)
        writer.stop()
        data = live.read_bytes()
        for cut in range(0, len(data), 5):
            live.write_bytes(data[:cut])
            assert LiveReader(live)._read() is None
        changed = bytearray(data)
        for place in range(4, len(data), 11):
            changed[place] ^= 1
            live.write_bytes(changed)
            found = LiveReader(live)._read()
            # the count alone may differ without being noticed; the words never
            assert found is None or (4 <= place < 12 and found[1]["live"]["shown"] == "1.0")
            changed[place] ^= 1
        assert len(data) > HEAD.size

    def test_a_folder_that_cannot_be_written_does_not_reach_the_bench(self, tmp_path: Path) -> None:
        live = tmp_path / "gone" / "live.view"
        writer = LiveWriter(live)
        writer.take(v.BenchView())
        reader = LiveReader(live)
        assert reader.look() is None
        writer.stop()


LISTENERS = """
import os, sys, time
from pathlib import Path
from bench.command_line.places import Places
from bench.command_line.settings import Settings
from bench.command_line.wiring import start_bench
running = start_bench(Places(Path(sys.argv[1])), Settings())
Path(sys.argv[1], "live.view.wanted").touch()
time.sleep(0.8)
own = {os.readlink(f"/proc/self/fd/{n}") for n in os.listdir("/proc/self/fd") if os.path.islink(f"/proc/self/fd/{n}")}
open_ = []
for table in ("tcp", "tcp6", "udp", "udp6"):
    for row in Path("/proc/net", table).read_text().splitlines()[1:]:
        cells = row.split()
        if f"socket:[{cells[9]}]" in own:
            open_.append((table, cells[1], cells[3]))
for row in Path("/proc/net/unix").read_text().splitlines()[1:]:
    cells = row.split()
    if f"socket:[{cells[6]}]" in own and int(cells[3], 16) & 0x10000:
        open_.append(("unix", *cells[6:]))
running.stop()
print("LISTENS", open_, "WEB", sorted({"starlette", "uvicorn", "psycopg", "asyncio.sslproto"} & set(sys.modules)))
print("SHOWN", Path(sys.argv[1], "live.view").exists())
"""


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="looks into /proc")
def test_a_running_bench_listens_on_nothing_and_loads_no_server(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LISTENERS, str(tmp_path)], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout == "LISTENS [] WEB []\nSHOWN True\n"


WITHOUT = """
import sys
class No:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {"psycopg", "psycopg_binary", "starlette", "uvicorn"}:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
sys.meta_path.insert(0, No())
from bench.command_line.main import run
from bench.command_line.say import explain
for words in (["job", "list"], ["numbers"], ["verify"], ["wall", "--listen", "127.0.0.1:0"],
              ["job", "list", "--record", "postgresql://shop/x"]):
    try:
        code = run(words)
    except Exception as fault:
        code = explain(fault)
    print(words[0], int(code))
"""


def test_without_the_extras_everything_else_works(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT], capture_output=True, text=True, check=True, timeout=60,
        env={"SPINLEDGER_HOME": str(tmp_path), "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    assert done.stdout.split("\n")[:5] == ["job 0", "numbers 1", "verify 4", "wall 4", "job 6"]
    assert "pip install 'spinledger[wall]'" in done.stderr
    assert "pip install 'spinledger[share]'" in done.stderr

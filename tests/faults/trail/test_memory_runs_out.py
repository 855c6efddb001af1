"""No memory at any step of an append: nothing that was shown as taken is lost, and the next append goes on."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fault_pieces import Written, copied, entries, must_hold, ready
from trail_pieces import record

from bench.trail import codec, projections, sqlite_store, stamping

PLACES: tuple[tuple[Any, str], ...] = (
    (codec, "canonical"),
    (codec, "unseal"),
    (codec, "digest"),
    (stamping, "seal"),
    (sqlite_store, "stamped"),
    (sqlite_store, "end_of"),
    (projections, "moved_on"),
    (projections, "line_of"),
    (projections, "words_of"),
)


def running_out(patch: pytest.MonkeyPatch, number: int) -> list[str]:
    """Let the number-th of the watched calls find no memory."""
    calls: list[str] = []

    def watched(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **more: Any) -> Any:
            calls.append(name)
            if len(calls) == number:
                raise MemoryError
            return real(*given, **more)

        return call

    for module, name in PLACES:
        patch.setattr(module, name, watched(name, getattr(module, name)))
    return calls


def test_at_every_step(tmp_path: Path) -> None:
    source = ready(tmp_path)
    number = 0
    while True:
        number += 1
        path = copied(source, tmp_path / f"{number}")
        trail, told = record(path), Written()
        with pytest.MonkeyPatch.context() as patch:
            calls = running_out(patch, number)
            for one in entries(4):
                told.tried.append(one.id)
                try:
                    trail.append([one])
                except MemoryError:
                    continue
                told.acked.append(one.id)
            ended = len(calls) < number
        assert not trail.read_only
        last = entries(1)[0]
        trail.append([last])
        trail.close()
        must_hold(path, [*told.acked, last.id], [*told.tried, last.id], before=4)
        if ended:
            break
        assert len(told.acked) == 3
    assert number > 20


def test_a_command_without_memory_says_so(tmp_path: Path) -> None:
    code = (
        "import sys; from bench.command_line import main, verify_command\n"
        "def none(args): raise MemoryError\n"
        "verify_command.run = none\n"
        "sys.argv = ['spinledger', 'verify']\n"
        "main.main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, check=False, env={"SPINLEDGER_HOME": str(tmp_path), "PATH": ""},
    )  # fmt: skip
    assert done.returncode == 70
    assert "nothing that was shown as taken is lost" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.long
@pytest.mark.timeout(600)
@pytest.mark.skipif(sys.platform == "win32", reason="the limit is POSIX")
def test_under_a_limit_of_the_system(tmp_path: Path) -> None:
    path = ready(tmp_path)
    paths = [str(Path(__file__).parent), str(Path(__file__).parents[2] / "trail")]
    code = (
        f"import sys, resource; sys.path[:0] = {paths!r}\n"
        "from pathlib import Path\n"
        "from trail_pieces import draft, ids, record\n"
        "from bench.trail.events import NoteWritten\n"
        "ids.next = 1000\n"
        f"trail = record(Path({str(path)!r}))\n"
        "now = int(open('/proc/self/statm').read().split()[0]) * 4096\n"
        "resource.setrlimit(resource.RLIMIT_AS, (now + 8_000_000, now + 8_000_000))\n"
        "kept = []\n"
        "for n in range(100_000):\n"
        "    one = draft(NoteWritten(text='x' * 3900))\n"
        "    kept.append(bytes(200_000))\n"
        "    trail.append([one])\n"
        "    print(one.id, flush=True)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode != 0
    acked = done.stdout.split()
    assert acked
    trail = record(path)
    assert [event.id for event in trail.events(after=4)][: len(acked)] == acked
    assert trail.verify() is None
    trail.close()

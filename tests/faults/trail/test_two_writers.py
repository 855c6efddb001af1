"""Several programs want to write one record: one does, the others are told who has it."""

from __future__ import annotations

import os
import re
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from fault_pieces import entries, must_hold, ready
from trail_pieces import SetClock, opening, record, weight

from bench.trail import sqlite_opening
from bench.trail.errors import RecordBusyError

HERE = Path(__file__).parent

WRITER = """
import sys
sys.path[:0] = {paths!r}
from pathlib import Path
from trail_pieces import SetClock, draft, ids, record
from bench.trail.events import LinkChanged
from bench.trail.errors import RecordBusyError
ids.prefix = sys.argv[2]
path, taken, busy = Path(sys.argv[1]), 0, 0
for n in range(int(sys.argv[3])):
    trail = record(path)
    try:
        trail.append([draft(LinkChanged(instrument="scale", state="gone"), job="")])
        taken += 1
    except RecordBusyError as fault:
        assert fault.held_by, fault
        busy += 1
    trail.close()
print(taken, busy)
"""


def writers(path: Path, *, number: int, attempts: int) -> tuple[int, int]:
    paths = [str(HERE), str(HERE.parents[1] / "trail")]
    code = WRITER.format(paths=paths)
    prefixes = [f"01900000-0000-7000-800{n}" for n in range(1, number + 1)]
    running = [
        subprocess.Popen([sys.executable, "-c", code, str(path), prefix, str(attempts)], stdout=subprocess.PIPE)
        for prefix in prefixes
    ]
    told = [one.communicate(timeout=1700)[0].decode().split() for one in running]
    assert all(one.returncode == 0 for one in running)
    return sum(int(t[0]) for t in told), sum(int(t[1]) for t in told)


def check_line(path: Path, taken: int) -> None:
    trail = record(path)
    assert trail.verify() is None
    assert [event.seq for event in trail.events()] == list(range(1, taken + 5))
    trail.close()


def test_three_programs(tmp_path: Path) -> None:
    path = ready(tmp_path)
    taken, busy = writers(path, number=3, attempts=40)
    assert taken + busy == 120
    assert taken > 0
    check_line(path, taken)


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_four_programs_of_2500(tmp_path: Path) -> None:
    path = ready(tmp_path)
    taken, busy = writers(path, number=4, attempts=2500)
    print(f"two writers: {taken} recorded, {busy} told it is in use")
    assert taken + busy == 10_000
    check_line(path, taken)


def test_the_second_looks_only_and_says_who_has_it_since_when(tmp_path: Path) -> None:
    path = ready(tmp_path)
    first, second = record(path), record(path)
    assert (first.read_only, second.read_only) == (False, True)
    assert re.fullmatch(
        rf"in use by process {os.getpid()} on \S+ since \d{{4}}-\d\d-\d\d \d\d:\d\d:\d\d", second.held_by
    )
    with pytest.raises(RecordBusyError) as caught:
        second.append([weight()])
    assert caught.value.held_by == second.held_by
    before = second.data_version()
    first.append([weight("399.9")])
    assert second.data_version() != before  # how a looking face notices
    assert second.checkpoint() == first.checkpoint()
    first.close()
    second.close()
    third = record(path)
    assert not third.read_only
    third.close()


def test_a_lock_file_with_nonsense_in_it(tmp_path: Path) -> None:
    path = ready(tmp_path)
    first = record(path)
    for text in ("", "{", "[]", '{"process": "x"}', '{"process": 1, "computer": "\\u001b[2J", "since": "2031"}'):
        path.with_name("r.db.writer").write_text(text)
        second = record(path)
        assert second.held_by.startswith("in use by")
        assert "\x1b" not in second.held_by
        second.close()
    first.close()


def test_threads_share_one_trail(tmp_path: Path) -> None:
    path = ready(tmp_path)
    trail = record(path)
    drafts = [entries(30) for _ in range(4)]
    faults: list[BaseException] = []

    def work(mine: int) -> None:
        try:
            for one in drafts[mine]:
                trail.append([one])
                assert trail.checkpoint().length > 4
                next(trail.events(after=3))
        except BaseException as fault:  # noqa: BLE001 shown below
            faults.append(fault)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    assert trail.verify() is None
    assert trail.checkpoint().length == 124
    trail.close()


def test_another_program_inside_the_file_is_waited_for_then_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite_opening, "PATIENCE_S", 0.2)
    path = ready(tmp_path)
    trail = record(path)
    stranger = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    stranger.execute("BEGIN IMMEDIATE")
    with pytest.raises(RecordBusyError, match="another program"):
        trail.append([weight()])
    waiting = threading.Timer(0.05, lambda: stranger.execute("ROLLBACK"))
    waiting.start()
    assert trail.append([weight()])[0].seq == 5  # a short lock is not noticed
    waiting.join()
    stranger.close()
    trail.close()


def test_a_stream_that_is_read_slowly_does_not_stop_the_writer(tmp_path: Path) -> None:
    path = ready(tmp_path, events=4)
    trail = record(path)
    stream = trail.events()
    assert next(stream).seq == 1
    for _ in range(20):
        trail.append([weight()])
    assert [event.seq for event in stream][-1] >= 4
    trail.append([opening("2031-0002")])
    trail.close()
    must_hold(path, [], [event.id for event in record_events(path)][4:], before=4)


def record_events(path: Path) -> list:
    trail = record(path, SetClock(), read_only=True)
    try:
        return list(trail.events())
    finally:
        trail.close()

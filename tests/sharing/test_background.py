"""The loop: ships by itself, waits when the database is gone, and comes back."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from postgres_server import Server
from trail_pieces import SetClock, opening, record, weight

from bench.sharing.background_share import BackgroundShare, ShareTold, next_pause
from bench.sharing.forks import ForkedChainError
from bench.sharing.others import OthersCopy
from bench.trail.errors import RecordBusyError, RecordError
from bench.trail.postgres_opening import connect_shared
from bench.trail.postgres_reading import SharedReader


def wait_until(there: Callable[[], bool], faults: list[RecordError] | None = None, seconds: float = 20.0) -> None:
    until = time.monotonic() + seconds
    while not there():
        assert not faults
        assert time.monotonic() < until, "did not come about"
        time.sleep(0.02)


@contextmanager
def sharing(path: Path, address: str, others: Path) -> Iterator[list[str]]:
    said: list[str] = []
    share = BackgroundShare(lambda: record(path, read_only=True), others, address, tell=ShareTold(said=said.append))
    faults: list[RecordError] = []

    def go() -> None:
        try:
            share.run()
        except RecordError as fault:
            faults.append(fault)
            said.append(str(fault))

    thread = threading.Thread(target=go)
    thread.start()
    try:
        yield said
    finally:
        share.end()
        thread.join(timeout=30)
    assert not faults


def length_there(address: str, bench: str) -> int:
    with closing(connect_shared(address)) as connection:
        return SharedReader(connection, bench, "shared").checkpoint().length


def test_two_benches_see_each_other_and_outlive_a_stopped_database(
    address: str, server: Server, tmp_path: Path
) -> None:
    south = record(tmp_path / "south.db")
    north = record(tmp_path / "north.db", bench="north")
    with (
        closing(south),
        closing(north),
        sharing(tmp_path / "south.db", address, tmp_path / "s-others.db") as said,
        sharing(tmp_path / "north.db", address, tmp_path / "n-others.db"),
    ):
        south.append([opening()])
        north.append([opening(), weight()])

        def seen(others: str, bench: str) -> int:
            with closing(OthersCopy(tmp_path / others)) as copy:
                return copy.checkpoint(bench).length

        wait_until(lambda: seen("n-others.db", "south") == 1 and seen("s-others.db", "north") == 2)
        server.stop("QUIT")
        try:
            # the bench does not notice
            south.append([weight(), weight(place=2)])
            wait_until(lambda: any("goes on alone" in words for words in said))
        finally:
            server.start()
        wait_until(lambda: seen("n-others.db", "south") == 3)
        wait_until(lambda: any("is back" in words for words in said))
        with closing(connect_shared(address)) as connection:
            reader = SharedReader(connection, "south", "shared")
            assert list(reader.rows()) == list(south.rows())
            assert reader.verify() is None


def test_a_record_that_is_replaced_is_looked_at_anew(address: str, tmp_path: Path) -> None:
    path = tmp_path / "south.db"
    with closing(record(path)) as south:
        south.append([opening()])
    share = BackgroundShare(lambda: record(path, read_only=True), tmp_path / "o.db", address)
    caught: list[RecordError] = []

    def go() -> None:
        try:
            share.run()
        except RecordError as fault:
            caught.append(fault)

    thread = threading.Thread(target=go)
    thread.start()
    wait_until(lambda: length_there(address, "south") == 1)
    with closing(record(tmp_path / "new.db", SetClock(offset=0))) as other:
        other.append([opening("2031-0002")])
    for part in ("south.db-wal", "south.db-shm"):
        (tmp_path / part).unlink(missing_ok=True)
    (tmp_path / "new.db").replace(path)
    thread.join(timeout=20)
    assert not thread.is_alive()
    assert isinstance(caught[0], ForkedChainError)
    assert length_there(address, "south") == 1


def test_once_tells_when_nobody_is_there(tmp_path: Path) -> None:
    share = BackgroundShare(lambda: record(tmp_path / "r.db"), tmp_path / "o.db", "postgresql://127.0.0.1:1/shop")
    with pytest.raises(RecordBusyError):
        share.run(once=True)


def test_pauses_grow_to_a_minute_and_differ_between_benches() -> None:
    pause, pauses = 0.0, []
    for _ in range(12):
        pause = next_pause(pause, chance=0.5)
        pauses.append(pause)
    assert pauses == sorted(pauses)
    assert pauses[-1] == 60.0
    assert next_pause(60.0, chance=0.0) == 45.0
    assert next_pause(60.0, chance=1.0) == 75.0

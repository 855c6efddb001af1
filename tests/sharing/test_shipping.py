"""Events of one bench in the shared record: all, in order, each once; and what is refused."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from trail_pieces import SetClock, draft, opening, record, run, weight

from bench.sharing.fetching import Fetcher
from bench.sharing.forks import ForkedChainError, alike_up_to
from bench.sharing.others import OthersCopy, events_of_others
from bench.sharing.shipping import Shipper
from bench.sharing.writer_token import token_of
from bench.trail import events as e
from bench.trail.attachments import about_file, attach
from bench.trail.errors import ForeignFileError, RecordDamagedError
from bench.trail.postgres_opening import connect_shared
from bench.trail.postgres_reading import SharedReader
from bench.trail.sqlite_store import SqliteTrail


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[SqliteTrail]:
    with closing(record(tmp_path / "south.db")) as trail:
        yield trail


class Link:
    """A sender as one run of the program has it."""

    def __init__(self, address: str, path: Path, *, moved: str = "") -> None:
        self.local = record(path, read_only=True)
        self.connection = connect_shared(address)
        self.shipper = Shipper(self.local, self.connection, "shared", token_of(path), moved=moved)

    def __enter__(self) -> Shipper:
        return self.shipper

    def __exit__(self, *_: object) -> None:
        self.connection.close()
        self.local.close()


def shared(address: str, bench: str = "south") -> SharedReader:
    return SharedReader(connect_shared(address), bench, "shared")


def test_what_is_committed_arrives_in_order_and_once(address: str, bench: SqliteTrail, tmp_path: Path) -> None:
    bench.append([opening(), weight(), weight(place=2), draft(e.ClockStepped(by_seconds=4.0), job="")])
    with Link(address, tmp_path / "south.db") as shipper:
        assert shipper.behind() == 4
        assert shipper.ship_all(most=3) == 4
        assert shipper.ship_all() == 0
        bench.append([run(1, 4.0, 2.0)])
        assert shipper.ship_all() == 1
    with Link(address, tmp_path / "south.db") as shipper:
        assert shipper.ship_all() == 0
    with closing(shared(address)) as reader:
        assert list(reader.rows()) == list(bench.rows())
        assert reader.verify() is None
        assert reader.jobs() == bench.jobs()
        assert reader.find("pump") == bench.find("pump")


def test_a_transaction_that_fails_leaves_nothing_and_is_shipped_again(
    address: str, bench: SqliteTrail, tmp_path: Path
) -> None:
    import psycopg

    bench.append([opening(), *(weight(place=1 + n % 2) for n in range(30))])
    with Link(address, tmp_path / "south.db") as shipper, closing(connect_shared(address)) as other:
        shipper.ship(most=10)
        pid = shipper.shared.connection.info.backend_pid
        other.execute("SELECT pg_terminate_backend(%s, 5000)", (pid,))
        with pytest.raises(Exception, match="cannot be reached"):
            shipper.ship()
        assert isinstance(other, psycopg.Connection)
    with Link(address, tmp_path / "south.db") as shipper:
        assert shipper.ship_all() == 21
    with closing(shared(address)) as reader:
        assert list(reader.rows()) == list(bench.rows())


def test_attachments_go_along(address: str, bench: SqliteTrail, tmp_path: Path) -> None:
    bench.append([opening()])
    content = b"\x00photo"
    attach(bench, content, draft(about_file("photo.jpg", content)))
    with Link(address, tmp_path / "south.db") as shipper:
        shipper.ship_all()
    with closing(connect_shared(address)) as connection:
        assert connection.execute("SELECT content FROM spinledger.attachments").fetchall() == [(content,)]


def test_a_copied_record_is_known_before_it_goes_another_way(address: str, bench: SqliteTrail, tmp_path: Path) -> None:
    bench.append([opening()])
    with Link(address, tmp_path / "south.db") as shipper:
        shipper.ship_all()
    bench.close()
    for part in ("south.db", "south.db.share.json"):
        shutil.copyfile(tmp_path / part, tmp_path / part.replace("south", "copied"))
    with Link(address, tmp_path / "copied.db") as shipper, pytest.raises(ForkedChainError, match="--moved"):
        shipper.ship_all()
    with Link(address, tmp_path / "copied.db", moved="new computer") as shipper:
        assert shipper.ship_all() == 0
    with closing(connect_shared(address)) as connection:
        turns = connection.execute("SELECT turn, reason FROM spinledger.writers ORDER BY turn").fetchall()
    assert turns == [(1, "first"), (2, "new computer")]
    # the first copy is now the one that is out of use
    with Link(address, tmp_path / "south.db") as shipper, pytest.raises(ForkedChainError, match="another copy"):
        shipper.ship_all()


def test_a_chain_that_went_two_ways_is_told_with_the_place(address: str, bench: SqliteTrail, tmp_path: Path) -> None:
    bench.append([opening(), weight()])
    bench.close()
    shutil.copyfile(tmp_path / "south.db", tmp_path / "copied.db")
    with closing(record(tmp_path / "south.db")) as one:
        one.append([weight(place=2), weight()])
    with closing(record(tmp_path / "copied.db", SetClock(offset=0))) as other:
        other.append([draft(e.NoteWritten(text="another way")), weight(), weight()])
    with Link(address, tmp_path / "south.db") as shipper:
        shipper.ship_all()
    with (
        Link(address, tmp_path / "copied.db", moved="new computer") as shipper,
        pytest.raises(ForkedChainError, match=r"two ways after event 2: event 3 here \(note-written") as caught,
    ):
        shipper.ship_all()
    assert caught.value.alike == 2
    with closing(shared(address)) as reader:
        assert reader.checkpoint().length == 4
        assert reader.verify() is None


def test_an_older_copy_is_refused(address: str, bench: SqliteTrail, tmp_path: Path) -> None:
    bench.append([opening()])
    bench.close()
    shutil.copyfile(tmp_path / "south.db", tmp_path / "older.db")
    with closing(record(tmp_path / "south.db")) as one:
        one.append([weight()])
    with Link(address, tmp_path / "south.db") as shipper:
        shipper.ship_all()
    with (
        Link(address, tmp_path / "older.db", moved="restored") as shipper,
        pytest.raises(ForkedChainError, match="only the first 1: this is an older copy"),
    ):
        shipper.ship_all()


@pytest.mark.parametrize(("alike", "shorter"), [(0, 1), (0, 7), (1, 1), (5, 9), (9, 9), (499, 1000)])
def test_the_place_where_chains_part(alike: int, shorter: int) -> None:
    asked: list[int] = []
    assert alike_up_to(lambda seq: asked.append(seq) or seq <= alike, shorter) == alike  # type: ignore[func-returns-value]
    assert len(asked) <= shorter.bit_length() + 1


def test_a_damaged_record_is_not_shipped_past_the_damage(address: str, bench: SqliteTrail, tmp_path: Path) -> None:
    bench.append([opening(), weight(), weight(place=2), weight()])
    bench.close()
    with closing(sqlite3.connect(tmp_path / "south.db")) as raw:
        guard = raw.execute("SELECT sql FROM sqlite_master WHERE name = 'trail_keeps_updates_out'").fetchone()[0]
        raw.execute("DROP TRIGGER trail_keeps_updates_out")
        raw.execute("UPDATE trail SET body = CAST(replace(CAST(body AS TEXT), '412', '512') AS BLOB) WHERE seq = 2")
        raw.execute(guard)
        raw.commit()
    with Link(address, tmp_path / "south.db") as shipper, pytest.raises(RecordDamagedError, match="event 2"):
        shipper.ship_all()
    with closing(shared(address)) as reader:
        assert reader.checkpoint().length == 0


class TestFetching:
    @pytest.fixture
    def copy(self, tmp_path: Path) -> Iterator[OthersCopy]:
        with closing(OthersCopy(tmp_path / "others.db")) as one:
            yield one

    def test_others_can_be_read_when_the_network_is_down(
        self, address: str, bench: SqliteTrail, copy: OthersCopy, tmp_path: Path
    ) -> None:
        bench.append([opening(), weight()])
        with Link(address, tmp_path / "south.db") as shipper:
            shipper.ship_all()
        with closing(connect_shared(address)) as connection:
            fetcher = Fetcher(connection, "shared", own="north", copy=copy)
            assert fetcher.fetch() == 2
            assert fetcher.fetch() == 0
            bench.append([weight(place=2)])
            with Link(address, tmp_path / "south.db") as shipper:
                shipper.ship_all()
            assert fetcher.fetch() == 1
            assert Fetcher(connection, "shared", own="south", copy=copy).fetch() == 0
        assert copy.benches() == ["south"]
        assert [line for _, line in copy.lines()] == bench.jobs()
        assert events_of_others(tmp_path / "others.db", bench="south", job="2031-0001") == list(bench.events())
        assert events_of_others(tmp_path / "none.db", bench="south", job="2031-0001") == []

    def test_a_database_that_lost_its_newest_events_gets_them_again(
        self, address: str, bench: SqliteTrail, copy: OthersCopy, tmp_path: Path
    ) -> None:
        bench.append([opening(), weight()])
        with Link(address, tmp_path / "south.db") as shipper:
            shipper.ship_all()
        with closing(connect_shared(address)) as connection:
            fetcher = Fetcher(connection, "shared", own="north", copy=copy)
            fetcher.fetch()
            connection.execute("SET session_replication_role = replica")
            connection.execute("DELETE FROM spinledger.trail WHERE seq = 2")
            assert fetcher.fetch() == 0
            bench.append([weight(place=2)])
            with Link(address, tmp_path / "south.db") as shipper:
                assert shipper.ship_all() == 2
            assert fetcher.fetch() == 1

    def test_a_shared_record_that_was_written_anew_is_noticed(
        self, address: str, bench: SqliteTrail, copy: OthersCopy, tmp_path: Path
    ) -> None:
        bench.append([opening(), weight()])
        with Link(address, tmp_path / "south.db") as shipper:
            shipper.ship_all()
        with closing(connect_shared(address)) as connection:
            fetcher = Fetcher(connection, "shared", own="north", copy=copy)
            fetcher.fetch()
            connection.execute("SET session_replication_role = replica")
            connection.execute("UPDATE spinledger.trail SET hash = repeat('0', 64) WHERE seq = 2")
            with pytest.raises(RecordDamagedError, match="written anew"):
                fetcher.fetch()

    def test_a_changed_event_is_not_taken(
        self, address: str, bench: SqliteTrail, copy: OthersCopy, tmp_path: Path
    ) -> None:
        bench.append([opening(), weight()])
        with Link(address, tmp_path / "south.db") as shipper:
            shipper.ship_all()
        with closing(connect_shared(address)) as connection:
            connection.execute("SET session_replication_role = replica")
            connection.execute("UPDATE spinledger.trail SET job = 'other' WHERE seq = 2")
            with pytest.raises(RecordDamagedError, match="event 2"):
                Fetcher(connection, "shared", own="north", copy=copy).fetch()
        assert copy.checkpoint("south").length == 0

    def test_another_file_is_left_alone(self, tmp_path: Path) -> None:
        path = tmp_path / "notes.db"
        with closing(sqlite3.connect(path)) as raw:
            raw.execute("CREATE TABLE notes (words TEXT)")
        with pytest.raises(ForeignFileError):
            OthersCopy(path)

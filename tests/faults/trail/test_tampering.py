"""Every later change is found: a byte, an event gone, added, moved or doubled, the end cut off, all written anew."""

from __future__ import annotations

import json
import shutil
import sqlite3
from pathlib import Path

import pytest
from trail_pieces import SetClock, draft, one_of_each, opening, record, weight

from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.checkpoints import against, certificate_faults
from bench.trail.codec import canonical, digest
from bench.trail.contract import Checkpoint
from bench.trail.errors import RecordDamagedError
from bench.trail.events import CertificateIssued
from bench.trail.full_check import check_all
from bench.trail.memory import MemoryTrail
from bench.trail.sqlite_store import SqliteTrail


def hundred_events() -> list[StoredRow]:
    trail = MemoryTrail(bench="south", clock=SetClock(), app_version="0.1.0")
    trail.append([*one_of_each(), *one_of_each("2031-0002"), *(weight(place=1 + n % 2) for n in range(64))])
    return list(trail._rows)


ROWS = hundred_events()


def walk(rows: list[StoredRow]) -> int | None:
    """Return the seq that is named, None when all fits."""
    walked = ChainWalk("south")
    for row in rows:
        fault = walked.step(row)
        if fault is not None:
            assert fault.found
            assert fault.wanted
            return fault.seq
    return None


def with_one(at: int, row: StoredRow) -> list[StoredRow]:
    return [*ROWS[:at], row, *ROWS[at + 1 :]]


def test_the_chain_is_whole_to_begin_with() -> None:
    assert len(ROWS) >= 100
    assert walk(ROWS) is None


def test_every_byte_of_every_event() -> None:
    edits = 0
    for at, row in enumerate(ROWS):
        before = ROWS[at - 1].hash if at else "0" * 64
        for place in range(len(row.body)):
            body = bytearray(row.body)
            body[place] ^= 1 << (place % 8)
            walked = ChainWalk("south", length=at, head=before)
            fault = walked.step(row._replace(body=bytes(body)))
            assert fault is not None
            assert fault.seq == row.seq
            edits += 1
    assert edits > 40_000


def test_every_field_of_every_event_even_when_its_hash_is_made_to_fit() -> None:
    edits = 0
    for at, row in enumerate(ROWS):
        whole = json.loads(row.body)
        for key, value in [*whole.items(), *(("payload", {**whole["payload"], k: "x"}) for k in whole["payload"])]:
            changed = value if key == "payload" and value != whole["payload"] else _other(value)
            data = canonical({**whole, key: changed})
            forged = row._replace(body=data, hash=digest(data))
            named = walk(with_one(at, forged))
            # the forged event itself, or the one after it whose previous hash no longer fits; the last has none
            assert named in ({row.seq, row.seq + 1} if at < len(ROWS) - 1 else {row.seq, None}), (row.seq, key)
            edits += 1
    assert edits > 1500


def _other(value: object) -> object:
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, str):
        return value[:-1] + ("0" if value.endswith("1") else "1")
    if isinstance(value, list):
        return [*value, "x"]
    return {**value, "more": 1}  # type: ignore[dict-item]


@pytest.mark.parametrize("column", ["seq", "id", "job", "kind", "hash"])
def test_what_is_kept_beside_the_bytes(column: str) -> None:
    for at, row in enumerate(ROWS):
        value = getattr(row, column)
        forged = row._replace(**{column: value + 1 if isinstance(value, int) else "f" * len(value) or "x"})
        assert walk(with_one(at, forged)) == row.seq


def test_events_removed_swapped_doubled_and_put_elsewhere() -> None:
    rows, cases = ROWS[:50], 0
    for i in range(50):
        if i < 49:
            assert walk([*rows[:i], *rows[i + 1 :]]) is not None
        for j in range(50):
            moved = [*rows[:i], *rows[i + 1 :]]
            moved.insert(j, rows[i])
            if i != j:
                assert walk(moved) is not None
                swapped = list(rows)
                swapped[i], swapped[j] = swapped[j], swapped[i]
                assert walk(swapped) is not None
                renumbered = [row._replace(seq=n) for n, row in enumerate(moved, 1)]
                assert walk(renumbered) is not None
            doubled = list(rows)
            doubled.insert(j, rows[i])
            assert walk(doubled) is not None or (i == j == 49)
            cases += 4
    assert cases == 10_000


@pytest.fixture
def whole(tmp_path: Path) -> Path:
    trail = record(tmp_path / "r.db")
    trail.append([opening(), *(weight(place=1 + n % 2) for n in range(30))])
    point = trail.checkpoint()
    issued = CertificateIssued(file_name="c.html", sha256="b" * 64, length=point.length, head=point.head)
    trail.append([draft(issued), *(weight() for _ in range(8))])
    trail.close()
    return tmp_path / "r.db"


def tampered(path: Path, *statements: str) -> Path:
    other = path.with_name("tampered.db")
    shutil.copy(path, other)
    connection = sqlite3.connect(other, isolation_level=None)
    triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        connection.execute(statement)
    for _, text in triggers:
        connection.execute(text)
    connection.close()
    return other


def looked_at(path: Path) -> SqliteTrail:
    return record(path, read_only=True)


def test_the_end_cut_off_is_found_by_any_newer_checkpoint(whole: Path) -> None:
    trail = looked_at(whole)
    points = [Checkpoint("south", event.seq, event.hash) for event in trail.events()]
    assert all(against(trail, point) is None for point in [Checkpoint("south", 0, "0" * 64), *points])
    trail.close()
    for kept in range(1, 40):
        cut = looked_at(tampered(whole, f"DELETE FROM trail WHERE seq > {kept}"))
        assert cut.verify() is None  # the chain alone cannot tell
        for point in points:
            assert (against(cut, point) is None) == (point.length <= kept)
        fault = against(cut, points[-1])
        assert fault is not None
        assert fault.seq == kept + 1
        assert "gone" in fault.wanted
        cut.close()


def test_a_record_written_anew_with_fresh_hashes(whole: Path) -> None:
    trail = looked_at(whole)
    points = [Checkpoint("south", event.seq, event.hash) for event in trail.events()]
    trail.close()
    clock = SetClock()
    clock.run(1.0)
    anew = record(whole.with_name("anew.db"), clock)
    anew.append([opening(), *(weight(place=1 + n % 2) for n in range(45))])
    assert anew.verify() is None
    assert check_all(anew) == []
    assert all(against(anew, point) is not None for point in points)
    stranger = against(anew, Checkpoint("north", 1, points[0].head))
    assert stranger is not None
    assert "north" in stranger.wanted
    anew.close()


def test_a_certificate_that_speaks_of_another_record(tmp_path: Path) -> None:
    trail = record(tmp_path / "r.db")
    events = trail.append([opening(), weight()])
    for length, head in ((1, events[1].hash), (7, events[0].hash), (3, "0" * 64)):
        trail.append([draft(CertificateIssued(file_name="c.html", sha256="b" * 64, length=length, head=head))])
    trail.append([draft(CertificateIssued(file_name="d.html", sha256="b" * 64, length=1, head=events[0].hash))])
    assert [fault.seq for fault in certificate_faults(trail)] == [3, 4, 5]
    assert len([words for words in check_all(trail) if "certificate" in words]) == 3
    trail.close()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE trail SET job = 'X' WHERE seq = 1",
        "DELETE FROM trail WHERE seq = 1",
        "DELETE FROM trail",
        "INSERT OR REPLACE INTO trail SELECT seq, id, 'X', kind, body, hash FROM trail WHERE seq = 1",
        "REPLACE INTO trail SELECT seq, id || 'x', job, kind, body, hash FROM trail WHERE seq = 1",
        (
            "INSERT INTO trail SELECT seq, id, job, kind, body, hash FROM trail WHERE seq = 1 "
            "ON CONFLICT (seq) DO UPDATE SET job = 'X'"
        ),
        "UPDATE bench SET name = 'north'",
        "DELETE FROM bench",
        "UPDATE attachments SET content = x'00'",
        "DELETE FROM attachments",
        "DELETE FROM guests",
        "INSERT INTO trail VALUES ('one', 'i', 'j', 'k', x'00', 'h')",
        "INSERT INTO trail VALUES (99, 'i', 'j', 'k', x'00', 'short')",
        "INSERT INTO trail VALUES (-1, 'i', 'j', 'k', x'00', printf('%064d', 1))",
    ],
)
def test_our_own_connection_cannot_change_what_was_recorded(whole: Path, statement: str) -> None:
    trail = record(whole)
    trail.connection.execute("INSERT INTO attachments VALUES (printf('%064d', 1), x'01')")
    trail.connection.execute("INSERT INTO guests VALUES ('b', 1, 'j', x'01', printf('%064d', 1))")
    before = trail.connection.execute("SELECT * FROM trail").fetchall()
    with pytest.raises(sqlite3.IntegrityError):
        trail.connection.execute(statement)
    assert trail.connection.execute("SELECT * FROM trail").fetchall() == before
    assert trail.connection.execute("SELECT name FROM bench").fetchall() == [("south",)]
    trail.close()


@pytest.mark.parametrize(
    "statement",
    [
        "DROP TRIGGER trail_keeps_updates_out",
        "CREATE TRIGGER more AFTER INSERT ON trail BEGIN SELECT 1; END",
        "CREATE TRIGGER more AFTER INSERT ON job_lines BEGIN SELECT 1; END",
        "CREATE VIEW more AS SELECT 1",
        "CREATE TABLE more (a)",
        "ALTER TABLE trail ADD COLUMN more TEXT",
        "DROP INDEX trail_by_job",
        "DROP TABLE guests",
    ],
)
@pytest.mark.parametrize("read_only", [False, True])
def test_tables_that_are_not_ours_are_named(whole: Path, statement: str, read_only: bool) -> None:
    connection = sqlite3.connect(whole, isolation_level=None)
    connection.execute(statement)
    connection.close()
    with pytest.raises(RecordDamagedError, match=r"missing|not (as|of) this program"):
        record(whole, read_only=read_only)


def test_nobody_writes_on_top_of_an_end_that_does_not_fit(whole: Path) -> None:
    other = tampered(whole, "UPDATE trail SET hash = printf('%064d', 1) WHERE seq = 40")
    with pytest.raises(RecordDamagedError, match="event 40"):
        record(other)
    trail = looked_at(other)
    with pytest.raises(RecordDamagedError, match="event 40"):
        list(trail.events())
    fault = trail.verify()
    assert fault is not None
    assert fault.seq == 40
    trail.close()


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE job_lines SET step = 'done'", "list of jobs"),
        ("UPDATE job_lines SET customer = ''", "list of jobs"),
        ("DELETE FROM job_lines", "job_lines tells of 0"),
        ("DELETE FROM job_words", "job_words tells of 0"),
        ("UPDATE job_words SET notes = 'x'", "search says something else"),
        ("UPDATE job_words_content SET c6 = 'x'", "search"),
        ("DELETE FROM job_words_data WHERE id > 10", "search"),
        ("UPDATE bench SET name = 'north'", "bench"),
        ("INSERT INTO attachments VALUES (printf('%064d', 1), x'01')", "belongs to no event"),
        ("INSERT INTO guests VALUES ('b', 1, 'j', x'01', printf('%064d', 1))", "no event tells"),
        ("UPDATE trail SET body = x'7b7d' WHERE seq = 20", "event 20"),
    ],
)
def test_the_full_check_names_what_is_wrong(whole: Path, statement: str, named: str) -> None:
    other = tampered(whole, statement)
    connection = sqlite3.connect(other)
    connection.close()
    trail = looked_at(other)
    wrong = check_all(trail)
    if "job_words_data" in statement:
        # only a writer can look into the index of the search itself
        assert wrong == []
        trail.close()
        trail = record(other)
        wrong = check_all(trail)
    assert any(named in words for words in wrong), wrong
    trail.close()


def test_lists_that_are_gone_are_made_anew_from_the_trail(whole: Path) -> None:
    for statement in (
        "DELETE FROM job_lines",
        "DROP TABLE job_lines",
        "DROP TABLE job_words",
        "UPDATE job_lines SET last_seq = 3",
    ):
        other = tampered(whole, statement)
        looking = looked_at(other)
        assert [line.number for line in looking.jobs()] == ["2031-0001"]
        assert [line.number for line in looking.find("skerry")] == ["2031-0001"]
        looking.close()
        trail = record(other)
        assert check_all(trail) == []
        assert [line.number for line in trail.find("skerry")] == ["2031-0001"]
        trail.close()

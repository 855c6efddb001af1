"""Files that are damaged, cut short, empty, foreign or newer: told in words, and never touched."""

from __future__ import annotations

import hashlib
import os
import random
import sqlite3
from pathlib import Path

import pytest
from trail_pieces import draft, opening, record, weight

from bench.trail.attachments import about_file, attach
from bench.trail.errors import ForeignFileError, NewerRecordError, RecordDamagedError, RecordError
from bench.trail.events import NoteWritten
from bench.trail.full_check import check_all
from bench.trail.sqlite_store import SqliteTrail


def good(path: Path) -> Path:
    trail = record(path)
    for n in range(3):
        number = f"2031-000{n + 1}"
        trail.append([opening(number), *(weight(place=1 + k % 2, job=number) for k in range(20))])
        trail.append([draft(NoteWritten(text=f"note {n} " + "y" * 300), job=number)])
    content = b"photo " * 900
    attach(trail, content, draft(about_file("photo.jpg", content)))
    trail.close()
    return path


def contents(trail: SqliteTrail) -> list[object]:
    asked = (
        "SELECT seq, id, job, kind, body, hash FROM trail ORDER BY seq",
        "SELECT name FROM bench",
        "SELECT sha256, content FROM attachments",
        "SELECT * FROM guests",
        "SELECT * FROM job_lines ORDER BY opened_seq",
        "SELECT rowid, * FROM job_words ORDER BY rowid",
    )
    return [trail.connection.execute(query).fetchall() for query in asked]


def damage(data: bytes, dice: random.Random) -> tuple[bytes, str]:
    size = 4096
    pages = len(data) // size
    what = dice.choice(["bit", "bit", "bit", "byte", "run", "zero page", "swap pages", "copy page", "cut", "grow"])
    content = bytearray(data)
    at = dice.randrange(len(data))
    if what == "bit":
        content[at] ^= 1 << dice.randrange(8)
    elif what == "byte":
        content[at] = dice.randrange(256)
    elif what == "run":
        length = dice.randrange(1, 64)
        content[at : at + length] = dice.randbytes(len(content[at : at + length]))
    elif what == "zero page":
        page = dice.randrange(pages)
        content[page * size : (page + 1) * size] = bytes(size)
    elif what in {"swap pages", "copy page"}:
        a, b = dice.randrange(pages) * size, dice.randrange(pages) * size
        first, second = content[a : a + size], content[b : b + size]
        content[a : a + size] = second
        if what == "swap pages":
            content[b : b + size] = first
    elif what == "cut":
        del content[at:]
    else:
        content += dice.randbytes(dice.randrange(1, 5000))
    return bytes(content), what


def damages(folder: Path, number: int, seed: int) -> dict[str, int]:
    source = good(folder / "good.db")
    data = source.read_bytes()
    trail = record(source, read_only=True)
    wanted = contents(trail)
    assert check_all(trail) == []
    trail.close()
    dice = random.Random(seed)
    totals = {"refused": 0, "found": 0, "no value changed": 0}
    path = folder / "damaged.db"
    for n in range(number):
        changed, what = damage(data, dice)
        path.write_bytes(changed)
        try:
            trail = record(path, read_only=True)
        except RecordError as fault:
            assert fault.do, (seed, n, what)  # noqa: PT017 each damage is one case
            totals["refused"] += 1
            assert path.read_bytes() == changed, (seed, n, what)
            continue
        try:
            if check_all(trail):
                totals["found"] += 1
            else:
                assert contents(trail) == wanted, (seed, n, what)
                totals["no value changed"] += 1
        finally:
            trail.close()
    return totals


def test_damage_is_found(tmp_path: Path) -> None:
    totals = damages(tmp_path, 300, 11)
    assert totals["found"] > 50
    assert totals["refused"] > 20


@pytest.mark.long
@pytest.mark.timeout(1800)
def test_ten_thousand_damages(tmp_path: Path) -> None:
    print(f"damages: {damages(tmp_path, 10_000, 12)}")


def test_damaged_names_of_tables_are_told_and_never_a_fault_of_ours(tmp_path: Path) -> None:
    # found by the ten thousand: SQLite quotes a damaged name in its message, and the message is no text any more
    data = good(tmp_path / "good.db").read_bytes()
    path = tmp_path / "damaged.db"
    refused = 0
    for name in (b"trail", b"bench", b"job_lines", b"attachments", b"CREATE TABLE", b"CREATE INDEX", b"CREATE TRIGGER"):
        at = -1
        while 0 <= (at := data.find(name, at + 1)) < 8 * 4096:
            for place in range(at, at + len(name), 3):
                changed = bytearray(data)
                changed[place] = 0xF4
                path.write_bytes(changed)
                try:
                    trail = record(path, read_only=True)
                except RecordError:
                    refused += 1
                    continue
                check_all(trail)
                trail.close()
    assert refused > 100


def test_values_of_another_kind_are_told(tmp_path: Path) -> None:
    # found by the ten thousand: one bit turns bytes into text where the file says of what kind a value is
    path = good(tmp_path / "good.db")
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA writable_schema = ON")
    connection.execute("DROP TRIGGER attachments_keeps_updates_out")
    for table in ("attachments", "guests", "trail", "bench"):
        connection.execute("UPDATE sqlite_master SET sql = replace(sql, ' STRICT', '') WHERE name = ?", (table,))
    connection.close()
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("UPDATE attachments SET content = 'text'")
    connection.execute("INSERT INTO guests VALUES ('north', 1, '2031-0009', 'text', ?)", ("a" * 64,))
    connection.close()
    from bench.trail.sqlite_opening import connect, settle
    from bench.trail.sqlite_reading import RecordReader

    connection = connect(path, mode="mode=ro")
    settle(connection, str(path), read_only=True)
    wrong = check_all(RecordReader(connection, path))
    connection.close()
    assert any("attachment" in words and "was changed" in words for words in wrong)
    assert any("job 2031-0009" in words for words in wrong)


def test_every_byte_of_the_header(tmp_path: Path) -> None:
    source = good(tmp_path / "good.db")
    data = source.read_bytes()
    trail = record(source, read_only=True)
    wanted = contents(trail)
    trail.close()
    path = tmp_path / "damaged.db"
    for at in range(100):
        changed = bytearray(data)
        changed[at] ^= 1 << (at % 8)
        path.write_bytes(changed)
        try:
            trail = record(path, read_only=True)
        except RecordError:
            continue
        if not check_all(trail):
            assert contents(trail) == wanted, at
        trail.close()


def foreign_sqlite(path: Path) -> Path:
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE trail (a)")
    connection.commit()
    connection.close()
    return path


def foreign_files(folder: Path) -> list[Path]:
    dice = random.Random(5)
    source = good(folder / "good.db").read_bytes()
    files: dict[str, bytes] = {
        "empty": b"",
        "one byte": b"S",
        "text": b"date;weight\n1;412.3\n" * 50,
        "magic only": b"SQLite format 3\x00",
        "magic and zeros": b"SQLite format 3\x00" + bytes(4096),
        "random": dice.randbytes(20_000),
        "other application": source[:68] + b"\x00\x00\x00\x01" + source[72:],
        "no application": source[:68] + bytes(4) + source[72:],
        "version 0": source[:60] + bytes(4) + source[64:],
        "page size 0": source[:16] + bytes(2) + source[18:],
        "page size odd": source[:16] + b"\x03\x01" + source[18:],
    }
    files |= {f"random {n}": dice.randbytes(dice.randrange(1, 9000)) for n in range(60)}
    files |= {f"cut at page {n}": source[: n * 4096] for n in range(1, len(source) // 4096)}
    files |= {f"cut within page {n}": source[: n * 4096 + 700] for n in range(len(source) // 4096)}
    for name, data in files.items():
        (folder / name).write_bytes(data)
    return [*(folder / name for name in files), foreign_sqlite(folder / "foreign.sqlite")]


@pytest.mark.parametrize("read_only", [False, True])
def test_foreign_and_cut_files_are_refused_untouched(tmp_path: Path, read_only: bool) -> None:
    paths = foreign_files(tmp_path)
    assert len(paths) > 80
    for path in paths:
        before = hashlib.sha256(path.read_bytes()).hexdigest()
        with pytest.raises((ForeignFileError, RecordDamagedError)) as caught:
            record(path, read_only=read_only)
        assert str(path) in str(caught.value)
        assert caught.value.do
        assert hashlib.sha256(path.read_bytes()).hexdigest() == before
        assert not path.with_name(path.name + "-wal").exists()


def test_a_thousand_files_that_are_no_record(tmp_path: Path) -> None:
    """Beginnings of other formats, our own cut anywhere, noise: each refused by an error of ours, each left as it was."""
    dice = random.Random(42)
    source = good(tmp_path / "good.db").read_bytes()
    begins = (
        b"SQLite format 3\x00",
        source[:100],
        source[:4096],
        b"PK\x03\x04",
        b"%PDF-1.7\n",
        b"\x89PNG",
        b"{",
        b"",
        b"\xff\xfe",
    )
    path = tmp_path / "r.db"
    for number in range(1000):
        noise = dice.randbytes(dice.randrange(0, 6000))
        data = source[: dice.randrange(len(source) - 4096)] if number % 2 else dice.choice(begins) + noise
        path.write_bytes(data)
        with pytest.raises(RecordError) as caught:
            record(path, read_only=number % 4 < 2).close()
        assert str(path) in str(caught.value), number
        assert path.read_bytes() == data, number
    assert sorted(one.name for one in tmp_path.iterdir() if one.suffix == ".db") == ["good.db", "r.db"]


def test_no_file_but_a_folder_or_a_pipe(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    for name in ("pipe", "folder"):
        with pytest.raises(ForeignFileError, match="no file but"):
            record(tmp_path / name)


def test_nothing_there_to_look_at(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no such file"):
        record(tmp_path / "none.db", read_only=True)
    assert list(tmp_path.iterdir()) == []


def test_a_newer_record_can_be_looked_at_only(tmp_path: Path) -> None:
    path = good(tmp_path / "r.db")
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA user_version = 2")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(NewerRecordError) as caught:
        record(path)
    assert (caught.value.found, caught.value.wanted) == ("format 2", "format 1 or older")
    assert path.read_bytes() == before
    trail = record(path, read_only=True)
    assert trail.verify() is None
    assert sum(1 for _ in trail.events()) == 67
    trail.close()
    assert path.read_bytes() == before


def test_a_newer_version_that_lies_ahead_of_the_file_is_seen_too(tmp_path: Path) -> None:
    path = good(tmp_path / "r.db")
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA wal_autocheckpoint = 0")
    connection.execute("PRAGMA user_version = 3")
    with pytest.raises(NewerRecordError):
        record(path)
    connection.close()


def test_an_event_that_only_a_newer_program_knows(tmp_path: Path) -> None:
    from bench.trail.codec import canonical, digest, parsed

    path = good(tmp_path / "r.db")
    connection = sqlite3.connect(path, isolation_level=None)
    body, previous = connection.execute("SELECT body, hash FROM trail ORDER BY seq DESC LIMIT 1").fetchone()
    whole = parsed(body) | {
        "seq": 68,
        "id": "new",
        "previous_hash": previous,
        "payload": {"kind": "part-etched", "version": 1},
    }
    data = canonical(whole)
    row = (68, "new", whole["job"], "part-etched", data, digest(data))
    connection.execute("INSERT INTO trail VALUES (?, ?, ?, ?, ?, ?)", row)
    connection.execute("PRAGMA user_version = 2")
    connection.close()
    trail = record(path, read_only=True)
    assert trail.verify() is None  # the chain holds whatever it says
    with pytest.raises(NewerRecordError, match="event 68"):
        list(trail.events())
    trail.close()
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA user_version = 1")
    connection.close()
    trail = record(path, read_only=True)
    with pytest.raises(RecordDamagedError, match="event 68"):
        list(trail.events())
    trail.close()

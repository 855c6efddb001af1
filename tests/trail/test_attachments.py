"""Files kept with a job: by their hash, up to a size, both entry and bytes or neither."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from trail_pieces import draft, opening, record

from bench.trail import attachments
from bench.trail.attachments import about_file, attach, attachment, attachment_faults, read_to_attach
from bench.trail.errors import CopyError, RecordDamagedError
from bench.trail.sqlite_store import SqliteTrail


@pytest.fixture
def trail(tmp_path: Path) -> Iterator[SqliteTrail]:
    trail = record(tmp_path / "r.db")
    trail.append([opening()])
    yield trail
    trail.close()


def test_bytes_come_back_whatever_they_are(trail: SqliteTrail) -> None:
    for content in (b"", b"\x00\xff" * 50, b"<script>", os.urandom(100_000)):
        event = attach(trail, content, draft(about_file("C:\\shop\\photo 1.jpg", content, about="keyway")))
        assert event.payload.file_name == "photo 1.jpg"  # type: ignore[union-attr]
        assert attachment(trail, event.payload.sha256) == content  # type: ignore[union-attr]
    assert list(attachment_faults(trail)) == []
    trail.close()


def test_the_same_file_twice_is_kept_once(trail: SqliteTrail) -> None:
    first, second = draft(about_file("a", b"x")), draft(about_file("b", b"x"))
    attach(trail, b"x", first)
    attach(trail, b"x", first)
    attach(trail, b"x", second)
    assert trail.connection.execute("SELECT count(*) FROM attachments").fetchone() == (1,)
    assert trail.checkpoint().length == 3
    trail.close()


def test_too_large(trail: SqliteTrail, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert attachments.LARGEST == 25_000_000
    largest = bytes(25_000_000)
    attach(trail, largest, draft(about_file("largest", largest)))
    with pytest.raises(CopyError, match="25 MB"):
        about_file("larger", largest + b"x")
    with pytest.raises(CopyError, match="25 MB"):
        attach(trail, largest + b"x", draft(about_file("x", b"x")))
    with pytest.raises(sqlite3.IntegrityError):
        trail.connection.execute("INSERT INTO attachments VALUES (printf('%064d', 1), zeroblob(25000001))")
    huge = tmp_path / "huge"
    with huge.open("wb") as file:
        file.truncate(3_000_000_000)
    with pytest.raises(CopyError, match="25 MB"):
        read_to_attach(huge)
    trail.close()


def test_an_entry_about_another_file_is_refused(trail: SqliteTrail) -> None:
    with pytest.raises(CopyError, match="another file"):
        attach(trail, b"x", draft(about_file("a", b"y")))
    with pytest.raises(CopyError, match="another file"):
        attach(trail, b"x", opening("2031-0002"))
    assert trail.connection.execute("SELECT count(*) FROM attachments").fetchone() == (0,)
    trail.close()


def test_only_plain_files_are_read(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"abc")
    assert read_to_attach(tmp_path / "a") == b"abc"
    os.mkfifo(tmp_path / "pipe")
    for name, words in (("pipe", "device or pipe"), (".", "a folder"), ("none", "cannot be read")):
        with pytest.raises(CopyError, match=words):
            read_to_attach(tmp_path / name)
    with pytest.raises(CopyError, match="device"):
        read_to_attach(Path("/dev/zero"))


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("UPDATE attachments SET content = x'00'", "was changed"),
        ("DELETE FROM attachments", "is gone"),
        ("INSERT INTO attachments VALUES (printf('%064d', 1), x'01')", "belongs to no event"),
    ],
)
def test_what_happened_to_a_file_is_seen(trail: SqliteTrail, statement: str, words: str) -> None:
    event = attach(trail, b"abc", draft(about_file("a", b"abc")))
    for name in ("updates", "deletes"):
        trail.connection.execute(f"DROP TRIGGER attachments_keeps_{name}_out")
    trail.connection.execute(statement)
    assert [words in fault for fault in attachment_faults(trail)] == [True]
    if "INSERT" not in statement:
        with pytest.raises(RecordDamagedError, match=words):
            attachment(trail, event.payload.sha256)  # type: ignore[union-attr]
    trail.close()

"""Beside a text copy lie attachments and other benches' jobs: a record made of it is whole."""

from __future__ import annotations

import hashlib
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
from trail_pieces import SetClock, draft, opening, record, weight

from bench.trail.attachments import about_file, attach, attachment
from bench.trail.errors import CopyError
from bench.trail.full_check import check_all
from bench.trail.guests import guest_jobs
from bench.trail.job_file import about_job, bring_in, job_of_record, read_job_file, write_job_file
from bench.trail.restore import Restored
from bench.trail.sqlite_store import SqliteTrail
from bench.trail.text_copy import extend_text_copy, rebuild_from_text
from bench.trail.text_copy_files import folder_beside

NOW = datetime(2031, 5, 7, tzinfo=UTC)
PHOTO, EMPTY = b"\xff\xd8" + bytes(range(256)) * 40, b""


def name_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The copy of a record with two attachments of its own and a job of another bench with one."""
    north = record(tmp_path / "north.db", SetClock(), bench="north")
    north.append([opening("2031-0010"), weight(job="2031-0010")])
    attach(north, b"sheet of the machine", draft(about_file("run.txt", b"sheet of the machine"), job="2031-0010"))
    job = read_job_file(write_job_file(job_of_record(north, "2031-0010")), where="job")
    north.close()
    trail = record(tmp_path / "r.db")
    trail.append([opening(), weight()])
    attach(trail, PHOTO, draft(about_file("photo.jpg", PHOTO)))
    attach(trail, EMPTY, draft(about_file("empty.txt", EMPTY)))
    bring_in(trail, job, draft(about_job(job), job=""))
    copy = tmp_path / "stick" / "copy.jsonl"
    copy.parent.mkdir()
    assert extend_text_copy(trail, copy).files == 3
    assert extend_text_copy(trail, copy).files == 0, "what is there already is not written again"
    trail.close()
    return copy


def rebuilt(copy: Path) -> tuple[Restored, SqliteTrail]:
    target = copy.parent / "new.db"
    return rebuild_from_text(copy, target, now=NOW), record(target)


def test_a_record_made_of_it_is_whole(copy: Path, tmp_path: Path) -> None:
    got, trail = rebuilt(copy)
    first = record(tmp_path / "r.db")
    assert got.left_out == ""
    assert got.checkpoint == first.checkpoint()
    assert check_all(trail) == []
    for content in (PHOTO, EMPTY, b"sheet of the machine"):
        assert attachment(trail, name_of(content)) == content
    assert guest_jobs(trail) == guest_jobs(first)
    trail.close()
    first.close()


def test_what_is_missing_or_was_changed_is_named_and_the_rest_comes_back(copy: Path) -> None:
    folder = folder_beside(copy)
    (folder / name_of(PHOTO)).write_bytes(PHOTO[:-1] + b"x")
    (folder / name_of(EMPTY)).unlink()
    got, trail = rebuilt(copy)
    assert "photo.jpg" in got.left_out
    assert "empty.txt" in got.left_out
    assert "run.txt" not in got.left_out
    assert attachment(trail, name_of(b"sheet of the machine"))
    assert len(check_all(trail)) == 2, "the record says the same"
    trail.close()


def test_a_changed_line_of_another_benchs_job_is_named(copy: Path) -> None:
    (lines,) = folder_beside(copy).glob("jobs-of-others-*.jsonl")
    lines.write_bytes(lines.read_bytes().replace(b"412.3", b"412.4", 1))
    got, trail = rebuilt(copy)
    assert f"{lines.name} line 2" in got.left_out
    trail.close()


def test_without_the_folder_all_of_it_is_named(copy: Path) -> None:
    folder_beside(copy).rename(copy.parent / "elsewhere")
    got, trail = rebuilt(copy)
    assert got.left_out.startswith("jobs of other benches; photo.jpg")
    assert got.checkpoint.length == 5
    trail.close()


def test_a_folder_that_cannot_be_written_holds_the_lines_back(copy: Path, tmp_path: Path) -> None:
    trail = record(tmp_path / "r.db")
    folder, before = folder_beside(copy), copy.read_bytes()
    folder.rename(copy.parent / "elsewhere")
    folder.write_bytes(b"a file where the folder belongs")
    attach(trail, b"new", draft(about_file("new.txt", b"new")))
    with pytest.raises(CopyError, match="cannot be written"):
        extend_text_copy(trail, copy)
    assert copy.read_bytes() == before, "no line tells of a file that is not there"
    folder.unlink()
    (copy.parent / "elsewhere").rename(folder)
    assert extend_text_copy(trail, copy).files == 1
    trail.close()


def test_a_half_written_file_is_written_again(copy: Path, tmp_path: Path) -> None:
    photo = folder_beside(copy) / name_of(PHOTO)
    os.truncate(photo, 100)
    trail = record(tmp_path / "r.db")
    assert extend_text_copy(trail, copy).files == 1
    assert photo.read_bytes() == PHOTO
    trail.close()

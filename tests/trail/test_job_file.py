"""A job goes to another bench and comes back with the hashes it was recorded with."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from trail_pieces import SetClock, draft, one_of_each, opening, record, weight

from bench.trail.attachments import about_file, attach
from bench.trail.errors import CopyError, RecordDamagedError
from bench.trail.fold import fold
from bench.trail.full_check import check_all
from bench.trail.guests import guest_events, guest_faults, guest_jobs
from bench.trail.job_file import (
    JobFile,
    about_job,
    bring_in,
    job_of_record,
    read_job_file,
    write_job_file,
)
from bench.trail.sqlite_store import SqliteTrail


@pytest.fixture
def north(tmp_path: Path) -> Iterator[SqliteTrail]:
    trail = record(tmp_path / "north.db", SetClock(), bench="north")
    trail.append([opening("2031-0009"), opening("2031-0010")])
    trail.append([weight(job="2031-0010"), weight("399.95", job="2031-0009")])
    attach(trail, b"photo", draft(about_file("p.jpg", b"photo"), job="2031-0010"))
    yield trail
    trail.close()


@pytest.fixture
def south(tmp_path: Path) -> Iterator[SqliteTrail]:
    trail = record(tmp_path / "south.db", SetClock(), bench="south")
    trail.append([opening("2031-0010")])  # the same number: no conflict
    yield trail
    trail.close()


def taken_in(south: SqliteTrail, job: JobFile) -> None:
    bring_in(south, job, draft(about_job(job), job=""))


def test_there_and_back_with_the_same_hashes(north: SqliteTrail, south: SqliteTrail) -> None:
    data = write_job_file(job_of_record(north, "2031-0010"))
    job = read_job_file(data, where="job.json")
    taken_in(south, job)
    events = list(guest_events(south, bench="north", number="2031-0010"))
    assert events == list(north.events(job="2031-0010"))
    assert [event.seq for event in events] == [2, 3, 5]
    assert [state.number for state in guest_jobs(south)] == ["2031-0010"]
    assert guest_jobs(south) == [fold(north.events(job="2031-0010"))]
    assert write_job_file(job_of_record(south, "2031-0010", bench="north")) == data
    assert [line.number for line in south.jobs()] == ["2031-0010"]
    assert len(list(south.events(job="2031-0010"))) == 1  # its own job is untouched
    assert check_all(south) == []
    assert south.verify() is None
    north.close()
    south.close()


def test_taken_in_again_when_it_has_grown(north: SqliteTrail, south: SqliteTrail) -> None:
    taken_in(south, job_of_record(north, "2031-0010"))
    taken_in(south, job_of_record(north, "2031-0010"))
    north.append([weight(place=2, job="2031-0010")])
    taken_in(south, job_of_record(north, "2031-0010"))
    assert len(list(guest_events(south, bench="north", number="2031-0010"))) == 4
    assert check_all(south) == []
    north.close()
    south.close()


def test_a_forged_twin_of_an_event_is_refused(north: SqliteTrail, south: SqliteTrail, tmp_path: Path) -> None:
    taken_in(south, job_of_record(north, "2031-0010"))
    clock = SetClock()
    clock.run(9.0)
    other = record(tmp_path / "other.db", clock, bench="north")
    other.append([opening("x"), opening("2031-0010"), weight("1.0", job="2031-0010")])
    with pytest.raises(CopyError, match="another event 2"):
        taken_in(south, job_of_record(other, "2031-0010"))
    with pytest.raises(CopyError, match="of this bench"):
        taken_in(south, job_of_record(south, "2031-0010"))
    with pytest.raises(CopyError, match="not in this record"):
        job_of_record(south, "2031-0099")
    job = job_of_record(north, "2031-0009")
    with pytest.raises(CopyError, match="another file"):
        bring_in(south, job, draft(about_job(job_of_record(north, "2031-0010")), job=""))
    for trail in (north, south, other):
        trail.close()


def test_every_byte_of_a_job_file(north: SqliteTrail) -> None:
    data = write_job_file(job_of_record(north, "2031-0010"))
    job = read_job_file(data, where="job.json")
    north.close()
    for at in range(0, len(data), 3):
        changed = bytearray(data)
        changed[at] ^= 1 << (at % 7)
        try:
            read = read_job_file(bytes(changed), where="job.json")
        except CopyError as fault:
            assert fault.where.startswith("job.json")  # noqa: PT017 each byte is one case
        else:
            # "é" may be written in two ways, and base64 ends may hold spare bits: the meaning is the same
            assert read == job


def altered(data: bytes, **changes: object) -> bytes:
    return json.dumps(json.loads(data) | changes).encode()


def test_hostile_job_files(north: SqliteTrail, monkeypatch: pytest.MonkeyPatch) -> None:
    data = write_job_file(job_of_record(north, "2031-0010"))
    events = json.loads(data)["events"]
    others = json.loads(write_job_file(job_of_record(north, "2031-0009")))["events"]
    sha256 = next(iter(json.loads(data)["files"]))
    cases: list[tuple[bytes, str]] = [
        (b"", "no JSON"),
        (b"\xff\xfe", "no JSON"),
        (b"[" * 10_000, "no JSON"),
        (b"[]", "another kind"),
        (b'{"format": "other"}', "another kind"),
        (altered(data, version=2), "newer program"),
        (altered(data, bench=5), "another kind"),
        (altered(data, events={}), "another kind"),
        (altered(data, events=[5]), "event 1"),
        (altered(data, events=[{**events[0], "by": "XX"}]), "hash"),
        (altered(data, events=events[::-1]), "out of order"),
        (altered(data, events=[events[0], *events]), "out of order"),
        (altered(data, events=[*events, *others]), "another job"),
        (altered(data, bench="east"), "another job"),
        (altered(data, events=events[1:]), "job-opened"),
        (altered(data, events=[], files={}), "no event"),
        (altered(data, files={}), "files"),
        (altered(data, files={sha256: "!!!"}), "base64"),
        (altered(data, files={sha256: 7}), "another hash"),
        (altered(data, files={sha256: "cGhvdG8=", "a" * 64: ""}), "another hash"),
        (data.replace(b'"version":1', b'"version":NaN', 1), "no JSON"),
    ]
    for case, words in cases:
        with pytest.raises(CopyError, match=words) as caught:
            read_job_file(case, where="job.json")
        assert "http" not in str(caught.value)
    monkeypatch.setattr("bench.trail.job_file.LONGEST", 10)
    with pytest.raises(CopyError, match="more than"):
        read_job_file(data, where="job.json")
    north.close()


def test_what_happened_to_a_guest_is_seen(north: SqliteTrail, south: SqliteTrail) -> None:
    taken_in(south, job_of_record(north, "2031-0010"))
    for name in ("updates", "deletes"):
        south.connection.execute(f"DROP TRIGGER guests_keeps_{name}_out")
    south.connection.execute("DELETE FROM guests WHERE seq = 3")
    assert [words for words in guest_faults(south) if "not as it was taken in" in words]
    south.connection.execute("UPDATE guests SET body = x'7b7d'")
    with pytest.raises(RecordDamagedError, match="was changed"):
        guest_jobs(south)
    assert any("was changed" in words for words in check_all(south))
    north.close()
    south.close()


def test_every_kind_of_event_travels(tmp_path: Path, south: SqliteTrail) -> None:
    trail = record(tmp_path / "w.db", bench="west")
    drafts = [one for one in one_of_each() if one.payload.kind != "file-attached"]
    trail.append(drafts)
    job = read_job_file(write_job_file(job_of_record(trail, "2031-0001")), where="x")
    assert len(job.bodies) == len([one for one in drafts if one.job])
    taken_in(south, job)
    assert list(guest_events(south, bench="west", number="2031-0001")) == list(trail.events(job="2031-0001"))
    trail.close()
    south.close()

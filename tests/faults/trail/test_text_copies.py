"""Text copies: rebuilt from, cut, damaged, of another record, on a medium that fails."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from copying import NOW, failing_at, folder_in
from fault_pieces import entries, ready
from trail_pieces import SetClock, opening, record, weight

from bench.trail.errors import CopyError
from bench.trail.full_check import check_all
from bench.trail.text_copy import extend_text_copy, lost_since, rebuild_from_text


def test_a_record_rebuilt_from_text_has_the_same_head(tmp_path: Path) -> None:
    trail = record(ready(tmp_path, events=40))
    copy = tmp_path / "copy.jsonl"
    done = extend_text_copy(trail, copy)
    assert (done.added, done.checkpoint, done.cut) == (40, trail.checkpoint(), 0)
    assert extend_text_copy(trail, copy).added == 0
    trail.append([opening("2031-0002")])
    assert extend_text_copy(trail, copy).added == 1
    rebuilt = rebuild_from_text(copy, tmp_path / "rebuilt.db", now=NOW)
    assert rebuilt.checkpoint == trail.checkpoint()
    other = record(tmp_path / "rebuilt.db")
    assert list(other.events()) == list(trail.events())
    assert check_all(other) == []
    assert [json.loads(line)["seq"] for line in copy.read_text().splitlines()] == list(range(1, 42))
    other.close()
    trail.close()


def test_a_text_copy_cut_at_every_byte_of_its_end(tmp_path: Path) -> None:
    trail = record(ready(tmp_path, events=4))
    copy = tmp_path / "copy.jsonl"
    extend_text_copy(trail, copy)
    whole = copy.read_bytes()
    third = whole.rindex(b"\n", 0, len(whole) - 1) + 1
    for at in range(third, len(whole)):
        copy.write_bytes(whole[:at])
        assert [event.seq for event in lost_since(trail, copy)] == []
        done = extend_text_copy(trail, copy)
        assert (done.added, done.cut) == (1, at - third)
        assert copy.read_bytes() == whole
    for at in range(0, third, 97):
        copy.write_bytes(whole[:at])
        assert extend_text_copy(trail, copy).added >= 1
        assert copy.read_bytes() == whole
    trail.close()


def test_every_byte_of_a_text_copy(tmp_path: Path) -> None:
    trail = record(ready(tmp_path, events=3))
    copy = tmp_path / "copy.jsonl"
    extend_text_copy(trail, copy)
    whole = copy.read_bytes()
    head = trail.checkpoint()
    trail.close()
    bad = tmp_path / "bad.jsonl"
    target = tmp_path / "new.db"
    short = 0
    for at in range(0, len(whole), 7):
        changed = bytearray(whole)
        changed[at] ^= 1 << (at % 7)
        bad.write_bytes(bytes(changed))
        try:
            done = rebuild_from_text(bad, target, now=NOW)
        except CopyError as fault:
            assert "line" in fault.where or "no whole line" in str(fault)  # noqa: PT017 each byte is one case
            assert not target.exists()
        else:
            # the line end of the last line: then that line counts as half-written, and the length tells
            assert done.checkpoint.length == head.length - 1
            target.unlink()
            short += 1
    assert short <= 1


def test_entries_that_a_lying_drive_lost_are_found_in_the_copy(tmp_path: Path) -> None:
    path = ready(tmp_path)
    trail = record(path)
    copy = tmp_path / "copy.jsonl"
    kept = path.read_bytes()
    written = [trail.append([one])[0] for one in entries(20)]
    extend_text_copy(trail, copy)
    trail.close()
    for lost in range(1, 21):
        home = folder_in(tmp_path, f"{lost}")
        target = home / "r.db"
        target.write_bytes(kept)
        part = record(target)
        part.close()
        # build the record that the drive really kept: the first of the acknowledged ones
        text = b"".join(copy.read_bytes().splitlines(keepends=True)[: 24 - lost])
        (home / "kept.jsonl").write_bytes(text)
        target.unlink()
        rebuild_from_text(home / "kept.jsonl", target, now=NOW)
        opened = record(target)
        assert opened.verify() is None
        gap = lost_since(opened, copy)
        assert [event.id for event in gap] == [event.id for event in written[20 - lost :]]
        assert len(list(opened.events())[-3:]) == 3
        with pytest.raises(CopyError, match="lost its end"):
            extend_text_copy(opened, copy)
        opened.close()


def test_a_copy_of_another_record_is_not_written_to(tmp_path: Path) -> None:
    trail = record(ready(tmp_path))
    clock = SetClock()
    clock.run(5.0)
    other = record(tmp_path / "other.db", clock)
    other.append([opening(), weight()])
    copy = tmp_path / "copy.jsonl"
    extend_text_copy(other, copy)
    before = copy.read_bytes()
    with pytest.raises(CopyError, match="another record"):
        extend_text_copy(trail, copy)
    other.append([weight(), weight()])
    extend_text_copy(other, copy)
    with pytest.raises(CopyError, match="another record"):
        lost_since(trail, copy)
    assert copy.read_bytes().startswith(before)
    copy.write_text("date;weight\n1;2\n")
    with pytest.raises(CopyError, match="no event"):
        extend_text_copy(trail, copy)
    assert copy.read_text() == "date;weight\n1;2\n"
    other.close()
    trail.close()


@pytest.mark.parametrize("for_ever", [False, True])
def test_every_system_call_of_a_text_copy_fails(tmp_path: Path, for_ever: bool) -> None:
    trail = record(ready(tmp_path))
    copy = tmp_path / "copy.jsonl"
    for k in range(1, 5):
        copy.unlink(missing_ok=True)
        with pytest.MonkeyPatch.context() as patch:
            calls = failing_at(patch, k, for_ever=for_ever)
            if k <= 2:
                with pytest.raises(CopyError, match="cannot be written"):
                    extend_text_copy(trail, copy)
            else:
                extend_text_copy(trail, copy)
                assert len(calls) == 2
        extend_text_copy(trail, copy)
        assert lost_since(trail, copy) == []
        assert copy.read_bytes().count(b"\n") == 4
    trail.close()


def test_hostile_text(tmp_path: Path) -> None:
    dice = random.Random(3)
    deep = b"[" * 100_000 + b"]" * 100_000
    lines = [
        b"",
        b"{}",
        b"null",
        b"[]",
        deep,
        b'{"payload": {}}',
        b'{"payload": {}, "hash": 1e999}',
        dice.randbytes(200),
    ]
    for line in lines:
        (tmp_path / "copy.jsonl").write_bytes(line + b"\n")
        with pytest.raises(CopyError):
            rebuild_from_text(tmp_path / "copy.jsonl", tmp_path / "new.db", now=NOW)
    with pytest.raises(CopyError, match="cannot be read"):
        rebuild_from_text(tmp_path / "none.jsonl", tmp_path / "new.db", now=NOW)
    (tmp_path / "copy.jsonl").write_bytes(b"x" * 10_000_002)
    with pytest.raises(CopyError, match="more than"):
        rebuild_from_text(tmp_path / "copy.jsonl", tmp_path / "new.db", now=NOW)
    assert not (tmp_path / "new.db").exists()

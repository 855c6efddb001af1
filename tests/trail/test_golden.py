"""Records of every released format are read for ever, and their bytes are never touched."""

from __future__ import annotations

import hashlib
import json
import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from trail_pieces import SetClock, record, weight

from bench.models.job import Cell
from bench.trail import upcasters
from bench.trail.checkpoints import against
from bench.trail.contract import Checkpoint
from bench.trail.fold import fold
from bench.trail.full_check import check_all
from bench.trail.guests import guest_jobs
from bench.trail.restore import restore
from bench.trail.text_copy import extend_text_copy, rebuild_from_text
from bench.trail.upcasters import upcast

GOLDEN = Path(__file__).parents[1] / "golden" / "records"
NOW = datetime(2031, 6, 1, tzinfo=UTC)
POINT = Checkpoint("south", 23, "9c482e791da6e8b1575e87e884a0dbd0add40fb50939486e4e2b1e86a82abfbf")


def opened(tmp_path: Path, version: str, **how: bool) -> Any:
    path = Path(shutil.copy(GOLDEN / version / "record.db", tmp_path / "record.db"))
    return record(path, SetClock(wall=NOW), **how)


def test_version_1_is_read_whole(tmp_path: Path) -> None:
    trail = opened(tmp_path, "version-1", read_only=True)
    assert trail.checkpoint() == POINT
    assert against(trail, POINT) is None
    assert check_all(trail) == []
    assert [(line.number, line.step) for line in trail.jobs()] == [("2031-0002", "weigh"), ("2031-0001", "weigh")]
    assert [line.number for line in trail.find("olbohrung")] == ["2031-0002"]
    state = fold(trail.events(job="2031-0002"))
    assert str(state.weighed[Cell(kind="piston", place=1)].grams) == "1137.35"
    assert (state.spins[0].planes[0].amount_g, state.spec.reciprocating_share) == (4.25, 0.5)
    assert [event.payload.kind for event in trail.events(after=16)][:4] == [
        "job-brought-in", "file-attached", "clock-stepped", "job-opened",
    ]  # fmt: skip
    assert [one.number for one in guest_jobs(trail)] == ["2030-0009"]
    trail.close()


def test_writing_on_changes_no_byte_of_what_was_recorded(tmp_path: Path) -> None:
    trail = opened(tmp_path, "version-1")
    before = list(trail.rows())
    trail.append([weight(job="2031-0002", place=2)])
    assert list(trail.rows())[:23] == before
    assert against(trail, POINT) is None
    assert check_all(trail) == []
    trail.close()


def test_restoring_and_rebuilding_version_1(tmp_path: Path) -> None:
    restored = restore(GOLDEN / "version-1" / "record.db", tmp_path / "restored.db", now=NOW)
    rebuilt = rebuild_from_text(GOLDEN / "version-1" / "record.jsonl", tmp_path / "rebuilt.db", now=NOW)
    assert restored.checkpoint == rebuilt.checkpoint == POINT
    trail = record(tmp_path / "restored.db", SetClock(wall=NOW))
    extend_text_copy(trail, tmp_path / "again.jsonl")
    assert (tmp_path / "again.jsonl").read_bytes() == (GOLDEN / "version-1" / "record.jsonl").read_bytes()
    trail.close()


def test_the_text_copy_can_be_proved_without_this_program() -> None:
    # only the standard library: the hash is over the line's JSON without its hash, keys in order, no spaces
    previous = "0" * 64
    for line in (GOLDEN / "version-1" / "record.jsonl").read_text(encoding="utf-8").splitlines():
        whole = json.loads(line)
        told = whole.pop("hash")
        assert whole["previous_hash"] == previous
        # every number of this record is written alike by both; other records may hold such as 1e21
        text = json.dumps(whole, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert hashlib.sha256(text.encode()).hexdigest() == told
        previous = told
    assert previous == POINT.head


def note(version: int, **payload: object) -> dict[str, Any]:
    return {"seq": 1, "payload": {"kind": "note-written", "version": version, **payload}}


def test_older_events_become_the_present_ones_step_by_step() -> None:
    steps = {
        ("note-written", 1): lambda p: {"kind": p["kind"], "version": 2, "lines": p["text"].splitlines()},
        ("note-written", 2): lambda p: {**p, "version": 3, "count": len(p["lines"])},
    }
    old = note(1, text="a\nb")
    new = upcast(old, steps)
    assert new == note(3, lines=["a", "b"], count=2)
    assert old == note(1, text="a\nb")
    assert upcast(note(3, lines=[], count=0), steps) == note(3, lines=[], count=0)
    assert upcast(note(1, text="x")) == note(1, text="x")
    assert upcast({"payload": {"kind": "x", "version": "one"}}, steps)["payload"]["version"] == "one"


def test_an_upcaster_that_leads_nowhere_is_our_mistake() -> None:
    with pytest.raises(AssertionError, match="version 1 led to 1"):
        upcast(note(1, text="a"), {("note-written", 1): lambda p: p})


def test_a_record_is_read_through_upcasters_and_keeps_its_hashes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # as if the note of version 0 had kept its words under another name
    from bench.trail.codec import canonical, digest, parsed

    trail = opened(tmp_path, "version-1")
    row = list(trail.rows())[-1]
    whole = parsed(row.body) | {"seq": 24, "previous_hash": row.hash, "id": "01900000-0000-7000-9000-ffffffffffff"}
    data = canonical(whole | {"payload": {"kind": "note-written", "version": -1, "words": "old words"}})
    values = (24, whole["id"], row.job, "note-written", data, digest(data))
    trail.connection.execute("INSERT INTO trail VALUES (?, ?, ?, ?, ?, ?)", values)

    def lift(payload: dict[str, Any]) -> dict[str, Any]:
        return {"kind": "note-written", "version": 1, "text": payload["words"]}

    monkeypatch.setitem(upcasters.UPCASTERS, ("note-written", -1), lift)
    event = trail.event_at(24)
    assert (event.payload.text, event.hash) == ("old words", digest(data))
    assert trail.verify() is None
    trail.close()

"""A drive lost entries it had reported as kept: found, named, and said in the record, even when work went on since."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from trail_pieces import SetClock, opening, record, weight

from bench.trail.errors import CopyError
from bench.trail.fold import fold
from bench.trail.full_check import check_all
from bench.trail.gap import record_gap
from bench.trail.keeping_events import GapFound
from bench.trail.text_copy import extend_text_copy, lost_since, rebuild_from_text
from bench.trail.text_copy_keeper import lost_words

NOW = datetime(2031, 5, 7, 9, tzinfo=UTC)


def a_loss(tmp_path: Path, *, lost: int) -> tuple[Path, Path]:
    """A record of two jobs whose drive lost the newest entries; its copy has them."""
    path, copy = tmp_path / "r.db", tmp_path / "copy.jsonl"
    trail = record(path)
    trail.append([opening("2031-0001"), opening("2031-0002"), weight(job="2031-0001"), weight(job="2031-0002")])
    kept = tmp_path / "kept.db"
    extend_text_copy(trail, copy)
    rebuild_from_text(copy, kept, now=NOW)
    jobs = ["2031-0001", "2031-0002"] * lost
    for n in range(lost):
        trail.append([weight(f"41{n % 10}.5", job=jobs[n])])
    extend_text_copy(trail, copy)
    trail.close()
    path.unlink()
    kept.rename(path)
    return path, copy


@pytest.mark.parametrize("lost", range(1, 21))
@pytest.mark.parametrize("went_on", [0, 1, 30])
def test_up_to_twenty_lost_entries_are_told_in_the_record(tmp_path: Path, lost: int, went_on: int) -> None:
    path, copy = a_loss(tmp_path, lost=lost)
    clock = SetClock()
    clock.run(60.0)
    trail = record(path, clock)
    for _ in range(went_on):
        trail.append([weight("500.1", job="2031-0001")])
    gone = lost_since(trail, copy)
    assert [event.seq for event in gone] == list(range(5, 5 + lost))
    assert f"newest {lost} entries" in lost_words(path, copy)
    gap = record_gap(trail, copy, by="mk", now=NOW)
    told = [event.payload for event in gap.events]
    assert all(isinstance(payload, GapFound) for payload in told)
    assert gap.lost == lost == sum(payload.entries for payload in told if isinstance(payload, GapFound))
    assert {event.job for event in gap.events} == {event.job for event in gone}
    assert {event.by for event in gap.events} == {"mk"}
    assert check_all(trail) == []
    assert fold(trail.events(job="2031-0001")).number == "2031-0001"
    # the old copy stays as it was, the new one goes on, and nothing is missing any more
    assert gap.set_aside.read_bytes().count(b"\n") == 4 + lost
    assert copy.read_bytes().count(b"\n") == trail.checkpoint().length
    assert lost_since(trail, copy) == []
    assert lost_words(path, copy) == ""
    trail.close()


def test_a_job_whose_opening_was_lost_belongs_to_no_job(tmp_path: Path) -> None:
    path, copy = a_loss(tmp_path, lost=1)
    later = record(tmp_path / "later.db")
    later.close()
    rebuild_from_text(copy, tmp_path / "later.db", now=NOW)
    whole = record(tmp_path / "later.db")
    whole.append([opening("2031-0003"), weight(job="2031-0003")])
    extend_text_copy(whole, copy)
    whole.close()
    trail = record(path)
    gap = record_gap(trail, copy, by="mk", now=NOW)
    assert sorted(event.job for event in gap.events) == ["", "2031-0001"]
    assert check_all(trail) == []
    trail.close()


def test_where_nothing_is_missing_nothing_is_recorded(tmp_path: Path) -> None:
    path, copy = a_loss(tmp_path, lost=2)
    trail = record(path)
    record_gap(trail, copy, by="mk", now=NOW)
    length = trail.checkpoint().length
    with pytest.raises(CopyError, match="nothing that the record has not"):
        record_gap(trail, copy, by="mk", now=NOW)
    other = record(tmp_path / "other.db", SetClock(), bench="south")
    other.append([opening("2031-0009")])
    extend_text_copy(other, tmp_path / "others.jsonl")
    with pytest.raises(CopyError, match="another record"):
        record_gap(trail, tmp_path / "others.jsonl", by="mk", now=NOW)
    assert trail.checkpoint() == replace(trail.checkpoint(), length=length)
    trail.close()
    other.close()


def test_two_losses_keep_two_copies(tmp_path: Path) -> None:
    path, copy = a_loss(tmp_path, lost=1)
    again = copy.read_bytes()
    trail = record(path)
    first = record_gap(trail, copy, by="mk", now=NOW).set_aside
    trail.close()
    copy.write_bytes(again)
    trail = record(path)
    second = record_gap(trail, copy, by="mk", now=NOW).set_aside
    assert first != second
    assert first.read_bytes() == second.read_bytes() == again
    trail.close()

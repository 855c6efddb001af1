"""Names, age and thinning of backups."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from trail_pieces import opening, record

from bench.trail.backup import BackupFile, back_up, backup_warning, backups_in, newest_backup, thin, to_thin

NOW = datetime(2031, 5, 7, 18, 0, tzinfo=UTC)


def made(days_ago: float, length: int = 100) -> BackupFile:
    return BackupFile(Path(f"b{days_ago}"), NOW - timedelta(days=days_ago), length)


def test_a_name_tells_bench_time_and_length(tmp_path: Path) -> None:
    trail = record(tmp_path / "r.db", bench="Große Halle / 2")
    trail.append([opening()])
    local = NOW.astimezone(datetime.fromisoformat("2031-05-07T20:00+02:00").tzinfo)
    outcome = back_up(trail, tmp_path, now=local)
    assert outcome.made is not None
    assert outcome.made.path.name == "spinledger-gro-e-halle-2-20310507T180000Z-1.db"
    assert backups_in(tmp_path) == [outcome.made]
    trail.close()


def test_what_is_no_backup_is_passed_over(tmp_path: Path) -> None:
    for name in (
        "spinledger-a-20310507T180000Z-5.db",
        "spinledger-a-20311307T180000Z-5.db",
        "spinledger-a-20310507T180000Z-5.db.half",
        ".spinledger-a-20310507T180000Z-5.db",
        "spinledger-a-20310508T180000Z-6.db",
        "record.db",
        "notes.txt",
    ):
        (tmp_path / name).write_text("")
    assert [one.length for one in backups_in(tmp_path)] == [6, 5]
    assert backups_in(tmp_path / "none") == []
    assert newest_backup([tmp_path / "none"]) is None
    newest = newest_backup([tmp_path / "none", tmp_path])
    assert newest is not None
    assert newest.length == 6


@pytest.mark.parametrize(
    ("days", "words"),
    [(0.0, ""), (7.0, ""), (7.1, "7 days old"), (40.0, "40 days old"), (-0.5, ""), (-3.0, "look at the clock")],
)
def test_the_age_that_a_footer_tells(days: float, words: str) -> None:
    warning = backup_warning(made(days), now=NOW)
    assert (words in warning) if words else warning == ""


def test_no_backup_yet() -> None:
    assert backup_warning(None, now=NOW) == "there is no backup yet"
    assert "2 days" in backup_warning(made(2.5), now=NOW, after_days=1)


def test_thinning_keeps_a_week_then_weeks_then_years() -> None:
    backups = [made(days / 2, length=5000 - days) for days in range(2 * 1200)]
    gone = to_thin(backups, now=NOW)
    kept = [one for one in backups if one not in gone]
    recent = [one for one in kept if NOW - one.when < timedelta(days=7)]
    assert len(recent) == 14
    weeks = [one for one in kept if timedelta(days=7) <= NOW - one.when < timedelta(days=366)]
    assert 50 <= len(weeks) <= 53
    years = [one for one in kept if NOW - one.when >= timedelta(days=366)]
    assert 3 <= len(years) <= 4
    assert to_thin(kept, now=NOW) == []  # doing it again removes nothing


def test_thinning_never_takes_the_newest_or_the_longest() -> None:
    old = [made(500.0, 10), made(501.0, 900), made(502.0, 10)]
    assert to_thin(old, now=NOW) == [old[2]]
    assert to_thin([made(9999.0)], now=NOW) == []
    assert to_thin([], now=NOW) == []


def test_thinning_removes_files_of_ours_only(tmp_path: Path) -> None:
    for name in (
        "spinledger-a-20200105T180000Z-1.db",
        "spinledger-a-20200106T180000Z-2.db",
        "spinledger-a-20310507T180000Z-5.db",
        "photo-20200105T180000Z-1.db",
    ):
        (tmp_path / name).write_text("")
    assert [one.length for one in thin(tmp_path, now=NOW)] == [1]
    assert len(list(tmp_path.iterdir())) == 3

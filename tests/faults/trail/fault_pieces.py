"""What fault tests share: a ready record, writing until something fails, and what must hold afterwards."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from pathlib import Path

from trail_pieces import SetClock, draft, opening, record, weight

from bench.trail.errors import RecordError
from bench.trail.events import Draft, NoteWritten
from bench.trail.full_check import check_all
from bench.trail.sqlite_store import SqliteTrail


def small_steps(trail: SqliteTrail, pages: int = 12) -> None:
    """Let checkpoints come often, so that they are among what is cut or fails."""
    trail.connection.execute(f"PRAGMA wal_autocheckpoint = {pages}")


def ready(folder: Path, events: int = 4) -> Path:
    """A record with a job and a few weights, closed."""
    path = folder / "r.db"
    trail = record(path)
    trail.append([opening(), *(weight(place=1 + n % 2) for n in range(events - 1))])
    trail.close()
    return path


def copied(path: Path, folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return Path(shutil.copy(path, folder / path.name))


@dataclass
class Written:
    """What became of an attempt to write some entries."""

    acked: list[str] = field(default_factory=list)
    tried: list[str] = field(default_factory=list)
    faults: list[RecordError] = field(default_factory=list)


def entries(count: int) -> list[Draft]:
    return [
        weight(place=1 + n % 2) if n % 3 else draft(NoteWritten(text=f"entry {n} " + "x" * 200)) for n in range(count)
    ]


def write(trail: SqliteTrail, drafts: list[Draft], told: Written) -> None:
    for one in drafts:
        told.tried.append(one.id)
        try:
            trail.append([one])
        except RecordError as fault:
            told.faults.append(fault)
        else:
            told.acked.append(one.id)


def must_hold(path: Path, acked: list[str], tried: list[str], *, before: int) -> int:
    """Open the record anew and return how many entries it has beyond those that were there before."""
    trail = record(path, SetClock())
    try:
        assert trail.verify() is None
        assert check_all(trail) == []
        ids = [event.id for event in trail.events()]
        new = ids[before:]
        assert set(acked) <= set(new), "an entry that was shown as taken is gone"
        assert set(new) <= set(tried), "an entry came out of nowhere"
        assert len(new) == len(set(new)), "an entry is there twice"
        assert new == [one for one in tried if one in set(new)], "entries changed their order"
        return len(new)
    finally:
        trail.close()

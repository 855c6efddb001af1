"""A copy of the trail as lines of text, for a second medium: readable without this program, and enough for a record.

Attachments and other benches' jobs lie in a folder beside it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.codec import CodecError, digest, parsed, stored_bytes, text_line
from bench.trail.contract import Checkpoint
from bench.trail.disk import sync_folder
from bench.trail.errors import CopyError
from bench.trail.events import Event
from bench.trail.restore import Restored, build_record
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_rows import as_event
from bench.trail.text_copy_files import BesideText, copy_files

LONGEST = 10_000_000
"""Bytes of one line [B]."""


@dataclass(frozen=True, slots=True)
class Extended:
    """What was added to a text copy.

    Attributes
    ----------
    added : int
        Events.
    checkpoint : Checkpoint
        How far it goes now.
    cut : int
        Bytes of a half-written last line that were dropped. [B]
    files : int
        Attachments that were written beside it.
    """

    added: int
    checkpoint: Checkpoint
    cut: int = 0
    files: int = 0


def extend_text_copy(trail: RecordReader, path: Path) -> Extended:
    """Bring a text copy up to the record; a half-written last line is dropped first.

    Parameters
    ----------
    trail : RecordReader
        The record.
    path : Path
        The copy; made when it is not there.

    Returns
    -------
    Extended
        What was added; on the medium when this returns.

    Raises
    ------
    CopyError
        When it is a copy of something else, holds more than the record, or cannot be written.
    """
    try:
        whole, last = _look_at_end(path)
        after = _place_of(last, trail, path)
        size = path.stat().st_size if path.exists() else 0
        files = copy_files(trail, path)  # before the lines that tell of them
        with path.open("ab") as file:
            file.truncate(whole)
            added = 0
            for row in trail.rows(after=after):
                as_event(row, str(trail.path))  # what was changed is never copied on as if it were sound
                file.write(text_line(row.body) + b"\n")
                after, added = row.seq, added + 1
            file.flush()
            os.fsync(file.fileno())
        sync_folder(path.parent)
    except OSError as fault:
        raise CopyError(str(path), found=f"cannot be written ({fault.strerror})", do="look at the medium") from fault
    _, last = _look_at_end(path)
    if _place_of(last, trail, path) != after:
        raise CopyError(str(path), found="not what was written to it", do="the medium does not keep data: use another")
    head = "" if last is None else digest(stored_bytes(last))
    return Extended(added, Checkpoint(trail.bench, after, head), cut=size - whole, files=files)


def _look_at_end(path: Path) -> tuple[int, bytes | None]:
    """Return how many bytes are whole lines, and the last of them."""
    if not path.exists():
        return 0, None
    with path.open("rb") as file:
        size = file.seek(0, os.SEEK_END)
        start = max(0, size - 2 * LONGEST)
        file.seek(start)
        tail = file.read()
    ends = tail.rfind(b"\n") + 1
    if ends == 0:
        return 0, None
    begins = tail.rfind(b"\n", 0, ends - 1) + 1
    return start + ends, tail[begins : ends - 1]


def _place_of(last: bytes | None, trail: RecordReader, path: Path) -> int:
    if last is None:
        return 0
    try:
        body = parsed(last)
        seq, head = int(body["seq"]), digest(stored_bytes(last))
    except (CodecError, KeyError, TypeError, ValueError) as fault:
        raise CopyError(str(path), found=f"a last line that is no event ({fault})", do="start a new copy") from fault
    there = trail.checkpoint().length
    if seq > there:
        raise CopyError(
            str(path),
            found=f"{seq} events where the record has {there}",
            do="the record lost its end, or is another one: look at what the copy has more before anything is written",
        )
    row = next(iter(trail.rows(after=seq - 1)), None)
    if row is None or row.hash != head:
        raise CopyError(str(path), found=f"event {seq} of another record", do="name another file")
    return seq


def end_of_text_copy(path: Path) -> int:
    """Return how many events a text copy tells of by its last whole line.

    Parameters
    ----------
    path : Path
        The copy.

    Returns
    -------
    int
        0 when there is no whole line.

    Raises
    ------
    CopyError
        When the last line is no event, or it cannot be read.
    """
    try:
        _, last = _look_at_end(path)
        if last is None:
            return 0
        stored_bytes(last)
        return int(parsed(last)["seq"])
    except (CodecError, KeyError, TypeError, ValueError) as fault:
        raise CopyError(str(path), found=f"a last line that is no event ({fault})", do="start a new copy") from fault
    except OSError as fault:
        raise CopyError(str(path), found=f"cannot be read ({fault.strerror})", do="look at the medium") from fault


def rows_of_text(path: Path) -> Iterator[StoredRow]:
    """Stream the events of a text copy, each proved by its hash and by the one before.

    Parameters
    ----------
    path : Path
        The copy.

    Yields
    ------
    StoredRow
        From the first on.

    Raises
    ------
    CopyError
        At the first line that does not fit; a half-written last line is left out.
    """
    walk: ChainWalk | None = None
    try:
        with path.open("rb") as file:
            number = 0
            while line := file.readline(LONGEST + 1):
                number += 1
                if not line.endswith(b"\n"):
                    if len(line) > LONGEST:
                        raise CopyError(f"{path} line {number}", found=f"more than {LONGEST} bytes")
                    return
                try:
                    data = stored_bytes(line[:-1])
                    row = _row(data)
                except CodecError as fault:
                    raise CopyError(f"{path} line {number}", found=fault.found, wanted=fault.wanted) from fault
                walk = walk or ChainWalk(str(parsed(data).get("bench")))
                wrong = walk.step(row)
                if wrong is not None:
                    raise CopyError(f"{path} line {number}", found=wrong.found, wanted=wrong.wanted)
                yield row
    except OSError as fault:
        raise CopyError(str(path), found=f"cannot be read ({fault.strerror})", do="look at the medium") from fault


def _row(data: bytes) -> StoredRow:
    body = parsed(data)
    seq, identity, job, kind = body.get("seq"), body.get("id"), body.get("job"), body["payload"].get("kind")
    if isinstance(seq, int) and isinstance(identity, str) and isinstance(job, str) and isinstance(kind, str):
        return StoredRow(seq, identity, job, kind, data, digest(data))
    raise CodecError("an object without seq, id, job or kind", "an event")


def rebuild_from_text(source: Path, target: Path, *, now: datetime) -> Restored:
    """Make a record out of a text copy, with the same head, and of the files beside it.

    Parameters
    ----------
    source : Path
        The copy.
    target : Path
        Where the record belongs; what is there now is kept beside it.
    now : datetime
        For the name of what is set aside.

    Returns
    -------
    Restored
        What it gave.

    Raises
    ------
    CopyError
        When the copy holds no event, or not a whole chain.
    """
    first = next(rows_of_text(source), None)
    if first is None:
        raise CopyError(str(source), found="no whole line", wanted="at least one event")
    beside = BesideText(source)
    rows = beside.listen(rows_of_text(source))
    got = build_record(rows, target, bench=str(parsed(first.body)["bench"]), now=now, beside=beside.rows())
    left_out = "; ".join(filter(None, (got.left_out, *beside.missing)))
    return replace(got, left_out=left_out)


def lost_since(trail: RecordReader, path: Path) -> list[Event]:
    """Return what a text copy has more than the record: entries that a drive lost although it said it kept them.

    They are found too when the record was written on since.

    Parameters
    ----------
    trail : RecordReader
        The record.
    path : Path
        Its text copy.

    Returns
    -------
    list[Event]
        Oldest first; empty when nothing is missing.

    Raises
    ------
    CopyError
        When the copy is of another record.
    """
    if _reaches(trail, path):
        return []
    lost: list[Event] = []
    own, same = iter(trail.rows()), 0
    for row in rows_of_text(path):
        if not lost:
            mine = next(own, None)
            if mine is not None and mine.hash == row.hash:
                same = row.seq
                continue
        lost.append(as_event(row, str(path)))
    if lost and not same and trail.checkpoint().length:
        raise CopyError(str(path), found="entries of another record", do="name another file")
    return lost


def _reaches(trail: RecordReader, path: Path) -> bool:
    """Tell in a moment whether the copy's last entry is in the record."""
    _, last = _look_at_end(path)
    if last is None:
        return True
    try:
        seq, head = int(parsed(last)["seq"]), digest(stored_bytes(last))
    except (CodecError, KeyError, TypeError, ValueError):
        return False
    row = next(iter(trail.rows(after=seq - 1)), None)
    return row is not None and row.seq == seq and row.hash == head

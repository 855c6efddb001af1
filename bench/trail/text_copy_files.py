"""What lies beside a text copy: attachments by their hash, and other benches' jobs; a record made of it is whole."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from bench.trail.attachments import LARGEST, attachment
from bench.trail.chain import StoredRow
from bench.trail.codec import CodecError, digest, parsed, stored_bytes, text_line
from bench.trail.disk import write_whole
from bench.trail.errors import CopyError
from bench.trail.restore import BesideRow
from bench.trail.sqlite_reading import RecordReader

GUESTS = "jobs-of-others-"


def folder_beside(copy: Path) -> Path:
    """Return the folder that belongs to a text copy.

    Parameters
    ----------
    copy : Path
        The copy.

    Returns
    -------
    Path
        Its name with ".files" behind it.
    """
    return copy.with_name(f"{copy.name}.files")


def copy_files(trail: RecordReader, copy: Path) -> int:
    """Write attachments and other benches' jobs that are not there yet; each is whole or not there.

    Parameters
    ----------
    trail : RecordReader
        The record.
    copy : Path
        The text copy.

    Returns
    -------
    int
        How many attachments were written.

    Raises
    ------
    CopyError
        When a file cannot be written.
    """
    folder = folder_beside(copy)
    try:
        there = {one.name: one.stat().st_size for one in os.scandir(folder)} if folder.is_dir() else {}
        wanted = trail.connection.execute("SELECT sha256, length(content) FROM attachments").fetchall()
        due = [str(sha256) for sha256, size in wanted if there.get(str(sha256)) != size]
        guests = int(trail.connection.execute("SELECT count(*) FROM guests").fetchone()[0])
        if due or (guests and f"{GUESTS}{guests}.jsonl" not in there):
            folder.mkdir(exist_ok=True)
        for sha256 in due:
            write_whole(folder / sha256, attachment(trail, sha256))
        if guests and f"{GUESTS}{guests}.jsonl" not in there:
            _copy_guests(trail, folder, guests)
    except OSError as fault:
        raise CopyError(str(folder), found=f"cannot be written ({fault.strerror})", do="look at the medium") from fault
    return len(due)


def _copy_guests(trail: RecordReader, folder: Path, count: int) -> None:
    rows = trail.connection.execute("SELECT body FROM guests ORDER BY bench, seq").fetchall()
    lines = b"".join(text_line(bytes(body)) + b"\n" for (body,) in rows)
    write_whole(folder / f"{GUESTS}{count}.jsonl", lines)
    for older in folder.glob(f"{GUESTS}*.jsonl"):
        if older.name != f"{GUESTS}{count}.jsonl":
            older.unlink()


class BesideText:
    """What lies beside a text copy, as rows of a record; each is proved by its hash.

    Parameters
    ----------
    copy : Path
        The copy.
    """

    def __init__(self, copy: Path) -> None:
        self._folder = folder_beside(copy)
        self._told: dict[str, str] = {}
        self._brought_in = 0
        self.missing: list[str] = []

    def listen(self, rows: Iterable[StoredRow]) -> Iterator[StoredRow]:
        """Pass rows on and remember which files they tell of.

        Parameters
        ----------
        rows : Iterable[StoredRow]
            Of the copy.

        Yields
        ------
        StoredRow
            As they came.
        """
        for row in rows:
            if row.kind == "file-attached":
                self._hear(row.body)
            self._brought_in += row.kind == "job-brought-in"
            yield row

    def rows(self) -> Iterator[BesideRow]:
        """Give attachments and other benches' jobs; what is missing or was changed is named in `missing`.

        Yields
        ------
        BesideRow
            Table and values.
        """
        guests = sorted(self._folder.glob(f"{GUESTS}*.jsonl"), key=lambda path: path.stat().st_mtime_ns)
        if guests:
            yield from self._guests(guests[-1])
        elif self._brought_in:
            self.missing.append("jobs of other benches")
        for sha256, name in self._told.items():
            content = self._content(sha256)
            if content is None:
                self.missing.append(f"{name} ({sha256[:16]})")
            else:
                yield "attachments", (sha256, content)

    def _hear(self, body: bytes) -> None:
        payload = parsed(body)["payload"]
        self._told.setdefault(str(payload["sha256"]), str(payload["file_name"]))

    def _content(self, sha256: str) -> bytes | None:
        try:
            with (self._folder / sha256).open("rb") as file:
                content = file.read(LARGEST + 1)
        except OSError:
            return None
        return content if hashlib.sha256(content).hexdigest() == sha256 else None

    def _guests(self, path: Path) -> Iterator[BesideRow]:
        for number, line in enumerate(path.read_bytes().splitlines(), 1):
            try:
                data = stored_bytes(line)
                body = parsed(data)
                row = (str(body["bench"]), int(body["seq"]), str(body["job"]), data, digest(data))
                if body["payload"]["kind"] == "file-attached":
                    self._hear(data)
            except (CodecError, KeyError, TypeError, ValueError):
                self.missing.append(f"{path.name} line {number}")
                continue
            yield "guests", row

"""Photos and the machines' own texts, kept beside the trail by their hash; never interpreted."""

from __future__ import annotations

import hashlib
import sqlite3
import stat
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from bench.trail.codec import CodecError, parsed
from bench.trail.errors import CopyError, RecordDamagedError
from bench.trail.events import Draft, Event, FileAttached
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_rows import RESTORE
from bench.trail.sqlite_store import SqliteTrail

LARGEST = 25_000_000
"""Bytes of one file [B]."""


def read_to_attach(path: Path) -> bytes:
    """Return a file's bytes when it is a plain file of a size that is kept.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    bytes
        As they are.

    Raises
    ------
    CopyError
        When it is no plain file, too large, or cannot be read.
    """
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise CopyError(str(path), found="a folder, device or pipe", wanted="a plain file")
        with path.open("rb") as file:
            content = file.read(LARGEST + 1)
    except OSError as fault:
        raise CopyError(
            str(path), found=f"cannot be read ({fault.strerror})", do="look at its name and rights"
        ) from fault
    _refuse_large(str(path), len(content))
    return content


def attach(trail: SqliteTrail, content: bytes, draft: Draft) -> Event:
    """Keep a file's bytes and record that they belong to a job, both or neither.

    Parameters
    ----------
    trail : SqliteTrail
        The record.
    content : bytes
        The file.
    draft : Draft
        With a FileAttached payload as `about_file` makes it.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    CopyError
        When the file is too large, or the draft tells of another one.
    """
    payload = draft.payload
    _refuse_large("attachment", len(content))
    digest = hashlib.sha256(content).hexdigest()
    if not isinstance(payload, FileAttached) or (payload.sha256, payload.size) != (digest, len(content)):
        raise CopyError("attachment", found="an entry about another file", wanted=f"one about {digest[:16]}")

    def beside(connection: sqlite3.Connection) -> None:
        connection.execute("INSERT OR IGNORE INTO attachments (sha256, content) VALUES (?, ?)", (digest, content))

    return trail.append_with([draft], beside)[0]


def append_with_files(trail: SqliteTrail, drafts: Sequence[Draft], files: Mapping[str, bytes]) -> list[Event]:
    """Record drafts and keep the files that some of them tell of, all or nothing.

    Parameters
    ----------
    trail : SqliteTrail
        The record.
    drafts : Sequence[Draft]
        Oldest first.
    files : Mapping[str, bytes]
        Their bytes by SHA-256; each must be told of by a draft.

    Returns
    -------
    list[Event]
        As recorded.

    Raises
    ------
    CopyError
        When a file is too large, does not have its hash, or no draft tells of it; or one that is told of is not given.
    """
    told = {draft.payload.sha256 for draft in drafts if isinstance(draft.payload, FileAttached)}
    if told != set(files):
        odd = min(told ^ set(files))
        raise CopyError("attachment", found=f"{odd[:16]} without its entry or its bytes", wanted="both")
    for sha256, content in files.items():
        _refuse_large("attachment", len(content))
        if hashlib.sha256(content).hexdigest() != sha256:
            raise CopyError("attachment", found=f"bytes that are not those of {sha256[:16]}", wanted="the file itself")

    def beside(connection: sqlite3.Connection) -> None:
        connection.executemany("INSERT OR IGNORE INTO attachments (sha256, content) VALUES (?, ?)", files.items())

    return trail.append_with(drafts, beside)


def about_file(file_name: str, content: bytes, *, about: str = "") -> FileAttached:
    """Return the payload that tells of a file.

    Parameters
    ----------
    file_name : str
        Its name; only the last part is kept.
    content : bytes
        Its bytes.
    about : str
        What a person says about it.

    Returns
    -------
    FileAttached
        With hash and size.
    """
    last = file_name.replace("\\", "/").rsplit("/", maxsplit=1)[-1][-200:]
    _refuse_large(last, len(content))
    return FileAttached(
        file_name=last, sha256=hashlib.sha256(content).hexdigest(), size=len(content), about=about[:200]
    )


def attachment(trail: RecordReader, sha256: str) -> bytes:
    """Return the bytes of a kept file.

    Parameters
    ----------
    trail : RecordReader
        The record.
    sha256 : str
        As its event tells.

    Returns
    -------
    bytes
        Proved by their hash.

    Raises
    ------
    RecordDamagedError
        When they are gone or were changed.
    """
    row = trail.connection.execute("SELECT content FROM attachments WHERE sha256 = ?", (sha256,)).fetchone()
    if row is None:
        raise RecordDamagedError(str(trail.path), found=f"attachment {sha256[:16]} is gone", do=RESTORE)
    content: object = row[0]
    if not isinstance(content, bytes) or hashlib.sha256(content).hexdigest() != sha256:
        raise RecordDamagedError(str(trail.path), found=f"attachment {sha256[:16]} was changed", do=RESTORE)
    return content


def attachment_faults(trail: RecordReader) -> Iterator[str]:
    """Compare every kept file with its hash and with the events that tell of files.

    Parameters
    ----------
    trail : RecordReader
        The record.

    Yields
    ------
    str
        One sentence a fault.
    """
    told = _told_by_guests(trail)
    for row in trail.connection.execute("SELECT seq FROM trail WHERE kind = 'file-attached' ORDER BY seq").fetchall():
        event = trail.event_at(int(row[0]))
        if isinstance(event.payload, FileAttached):
            told.add(event.payload.sha256)
    there = [str(row[0]) for row in trail.connection.execute("SELECT sha256 FROM attachments").fetchall()]
    for sha256 in sorted(told | set(there)):
        if sha256 not in told:
            yield f"attachment {sha256[:16]} belongs to no event"
            continue
        try:
            attachment(trail, sha256)
        except RecordDamagedError as fault:
            yield fault.found


def _told_by_guests(trail: RecordReader) -> set[str]:
    told: set[str] = set()
    for (body,) in trail.connection.execute("SELECT body FROM guests"):
        try:
            payload = parsed(body)["payload"]
        except (CodecError, TypeError):
            continue  # told by the check of what was taken in
        if payload.get("kind") == "file-attached":
            told.add(str(payload.get("sha256")))
    return told


def _refuse_large(where: str, size: int) -> None:
    if size > LARGEST:
        raise CopyError(where, found=f"more than {LARGEST // 1_000_000} MB", do="keep a smaller copy of it")

"""One job as a file that another bench can take in, with every event and the hash it was recorded with."""

from __future__ import annotations

import base64
import binascii
import hashlib
import sqlite3
from dataclasses import dataclass, field
from typing import Any, cast

from pydantic_core import from_json

from bench.trail.attachments import LARGEST, attachment
from bench.trail.codec import CodecError, canonical, digest, parsed, stored_bytes, unseal
from bench.trail.errors import CopyError
from bench.trail.events import Draft, Event, FileAttached, JobBroughtIn
from bench.trail.fold import FoldError, fold
from bench.trail.guests import guest_bodies, hash_over
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_store import SqliteTrail

FORMAT, VERSION = "spinledger-job", 1
LONGEST = 400_000_000
"""Bytes of a job file [B]."""


@dataclass(frozen=True, slots=True)
class JobFile:
    """What a job file holds, proved by its hashes.

    Attributes
    ----------
    bench, number : str
        Whose job it is.
    bodies : tuple[bytes, ...]
        The events as stored, oldest first.
    files : dict[str, bytes]
        Attachments by their hash.
    """

    bench: str
    number: str
    bodies: tuple[bytes, ...]
    files: dict[str, bytes] = field(default_factory=dict[str, bytes])

    @property
    def sha256(self) -> str:
        """Hash over the hashes of its events."""
        return hash_over(self.bodies)


def events_to_write(job: JobFile) -> list[dict[str, Any]]:
    """Return the events as they stand in a job file.

    Parameters
    ----------
    job : JobFile
        What it holds.

    Returns
    -------
    list[dict[str, Any]]
        Each as stored, with its hash.
    """
    return [parsed(body) | {"hash": digest(body)} for body in job.bodies]


def files_to_write(job: JobFile) -> dict[str, str]:
    """Return the attachments as they stand in a job file.

    Parameters
    ----------
    job : JobFile
        What it holds.

    Returns
    -------
    dict[str, str]
        Base64 by their hash.
    """
    return {sha256: base64.b64encode(content).decode() for sha256, content in job.files.items()}


def write_job_file(job: JobFile) -> bytes:
    """Return a job file's bytes, the same ones each time; the published document holds the same and more.

    Parameters
    ----------
    job : JobFile
        What it holds.

    Returns
    -------
    bytes
        Canonical JSON.
    """
    return canonical(
        {
            "format": FORMAT,
            "version": VERSION,
            "bench": job.bench,
            "number": job.number,
            "events": events_to_write(job),
            "files": files_to_write(job),
        }
    )


def job_of_record(trail: RecordReader, number: str, *, bench: str = "") -> JobFile:
    """Return a job of a record, its own or one that was brought in.

    Parameters
    ----------
    trail : RecordReader
        The record.
    number : str
        Job number.
    bench : str
        Whose job; "" for this bench's own.

    Returns
    -------
    JobFile
        To be written.

    Raises
    ------
    CopyError
        When the record has no such job.
    """
    whose = bench or trail.bench
    bodies = (
        tuple(row.body for row in trail.rows(job=number))
        if whose == trail.bench
        else tuple(guest_bodies(trail, bench=whose, number=number))
    )
    if not bodies:
        raise CopyError(f"job {number}", found=f"not in this record for bench '{whose}'")
    wanted = {event.payload.sha256 for event in map(unseal, bodies) if isinstance(event.payload, FileAttached)}
    return JobFile(whose, number, bodies, {sha256: attachment(trail, sha256) for sha256 in sorted(wanted)})


def read_job_file(data: bytes, *, where: str) -> JobFile:
    """Return what a job file holds, when all of it is sound; nothing in it is executed or trusted.

    Parameters
    ----------
    data : bytes
        The file.
    where : str
        Its name, for messages.

    Returns
    -------
    JobFile
        Every event with the hash it was recorded with, every attachment proved.

    Raises
    ------
    CopyError
        With the event that is wrong.
    """
    whole = _document(data, where)
    bench, number = whole.get("bench"), whole.get("number")
    events, files = whole.get("events"), whole.get("files")
    if not (
        isinstance(bench, str) and isinstance(number, str) and isinstance(events, list) and isinstance(files, dict)
    ):
        raise CopyError(where, found="bench, number, events or files of another kind", wanted="a job file")
    bodies = tuple(_body(event, f"{where} event {at}") for at, event in enumerate(cast("list[object]", events), 1))
    job = JobFile(bench, number, bodies, _files(cast("dict[str, object]", files), where))
    _refuse_unsound(job, where)
    return job


def _document(data: bytes, where: str) -> dict[str, Any]:
    if len(data) > LONGEST:
        raise CopyError(where, found=f"more than {LONGEST // 1_000_000} MB")
    try:
        whole = from_json(data, allow_inf_nan=False)
    except ValueError as fault:
        raise CopyError(where, found=f"no JSON ({fault})", wanted="a job file") from fault
    if not isinstance(whole, dict) or cast("dict[str, Any]", whole).get("format") != FORMAT:
        raise CopyError(where, found="JSON of another kind", wanted=f"format {FORMAT}")
    document = cast("dict[str, Any]", whole)
    if document.get("version") != VERSION:
        raise CopyError(
            where, found=f"version {document.get('version')}", wanted=f"version {VERSION}", do="use the newer program"
        )
    return document


def _body(event: object, where: str) -> bytes:
    try:
        if not isinstance(event, dict):
            raise CodecError("no object", "an event")  # noqa: TRY301
        data = stored_bytes(canonical(cast("dict[str, Any]", event)))
        unseal(data)
    except (CodecError, ValueError) as fault:
        raise CopyError(where, found=str(fault)) from fault
    return data


def _files(files: dict[str, object], where: str) -> dict[str, bytes]:
    read: dict[str, bytes] = {}
    for sha256, text in files.items():
        try:
            content = base64.b64decode(text, validate=True) if isinstance(text, str) else b""
        except (binascii.Error, ValueError) as fault:
            raise CopyError(where, found=f"file {sha256[:16]} that is no base64") from fault
        if hashlib.sha256(content).hexdigest() != sha256 or len(content) > LARGEST:
            raise CopyError(where, found=f"file {sha256[:16]} with another hash, or too large")
        read[sha256] = content
    return read


def _refuse_unsound(job: JobFile, where: str) -> None:
    events = [unseal(body) for body in job.bodies]
    if any(event.bench != job.bench or event.job != job.number for event in events):
        raise CopyError(where, found="events of another job or bench", wanted=f"those of job {job.number}")
    seqs = [event.seq for event in events]
    if seqs != sorted(set(seqs)) or len({event.id for event in events}) != len(events):
        raise CopyError(where, found="events out of order or twice", wanted="each once, oldest first")
    told = {event.payload.sha256 for event in events if isinstance(event.payload, FileAttached)}
    if told != job.files.keys():
        raise CopyError(where, found="files that the events do not tell of, or not all of them")
    try:
        fold(events)
    except FoldError as fault:
        raise CopyError(where, found=str(fault)) from fault


def bring_in(trail: SqliteTrail, job: JobFile, draft: Draft) -> Event:
    """Take in a job of another bench, to look at; its events keep their hashes.

    Parameters
    ----------
    trail : SqliteTrail
        The record.
    job : JobFile
        As read.
    draft : Draft
        With a JobBroughtIn payload as `about_job` makes it.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    CopyError
        When it is this bench's own job, or other events of it were taken in before.
    """
    if job.bench == trail.bench:
        raise CopyError(f"job {job.number}", found=f"a job of this bench, '{job.bench}'", wanted="one of another bench")
    if draft.payload != about_job(job):
        raise CopyError(f"job {job.number}", found="an entry about another file", wanted="one about this job")
    for body in job.bodies:
        event = unseal(body)
        known = trail.connection.execute(
            "SELECT hash FROM guests WHERE bench = ? AND seq = ?", (job.bench, event.seq)
        ).fetchone()
        if known is not None and str(known[0]) != event.hash:
            raise CopyError(
                f"job {job.number}", found=f"another event {event.seq} of bench '{job.bench}' is here already"
            )

    def beside(connection: sqlite3.Connection) -> None:
        for body in job.bodies:
            row = (job.bench, unseal(body).seq, job.number, body, digest(body))
            connection.execute("INSERT OR IGNORE INTO guests (bench, seq, job, body, hash) VALUES (?, ?, ?, ?, ?)", row)
        for sha256, content in job.files.items():
            connection.execute("INSERT OR IGNORE INTO attachments (sha256, content) VALUES (?, ?)", (sha256, content))

    return trail.append_with([draft], beside)[0]


def about_job(job: JobFile) -> JobBroughtIn:
    """Return the payload that tells of a job that is taken in.

    Parameters
    ----------
    job : JobFile
        As read.

    Returns
    -------
    JobBroughtIn
        With the hash over its events' hashes.
    """
    return JobBroughtIn(from_bench=job.bench, number=job.number, events=len(job.bodies), sha256=job.sha256)

"""Everything that can be proved about a record, beyond its chain."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator

from bench.trail.attachments import attachment_faults
from bench.trail.chain import ChainWalk
from bench.trail.checkpoints import certificate_faults
from bench.trail.codec import FIRST_PREVIOUS, canonical, parsed
from bench.trail.errors import RecordError
from bench.trail.guests import guest_faults
from bench.trail.schema import kept_differences
from bench.trail.signing import signature_faults
from bench.trail.sqlite_faults import SQLITE_FAULTS, told
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_rows import as_event

EVERY = 5000
"""Events between two words of progress."""


def check_all(trail: RecordReader, *, progress: Callable[[str, int], None] | None = None) -> list[str]:
    """Check file, tables, chain, events, certificates, attachments, jobs of other benches, list of jobs and search.

    Parameters
    ----------
    trail : RecordReader
        The record.
    progress : Callable[[str, int], None] or None
        Told now and then what is walked and how many events of it are done.

    Returns
    -------
    list[str]
        What is wrong, a sentence a fault; empty when the record is whole.
    """
    say = progress or _silent
    chain = trail.verify(progress=lambda done: say("chain", done))
    wrong = [] if chain is None else [f"event {chain.seq}: {chain.found}; wanted {chain.wanted}"]
    parts: dict[str, Callable[[RecordReader], Iterator[str]]] = {
        "file": _file,
        "tables": _tables,
        "events": lambda one: _events(one, lambda done: say("events", done)),
        "certificates": _certificates,
        "signatures": _signatures,
        "attachments": attachment_faults,
        "jobs of other benches": guest_faults,
        "list and search": _projections,
    }
    for name, part in parts.items():
        say(name, 0)
        try:
            wrong += list(part(trail))
        except RecordError as fault:
            wrong.append(fault.found)
        except SQLITE_FAULTS as fault:
            wrong.append(told(fault, str(trail.path)).found)
        except (TypeError, ValueError, KeyError, AttributeError) as fault:
            # a value of another kind than its column is for: what the parts did not name is a fault all the same
            wrong.append(f"{name}: a value that cannot be what it should be ({fault})")
    return list(dict.fromkeys(wrong))


def quick_faults(trail: RecordReader, *, most: int) -> list[str]:
    """Check what can be checked in a moment: tables, and the newest events with the chain through them.

    Parameters
    ----------
    trail : RecordReader
        The record.
    most : int
        So many of the newest events are walked.

    Returns
    -------
    list[str]
        What is wrong; empty says nothing about what lies before.
    """
    wrong = list(_tables(trail))
    end = trail.checkpoint()
    after = max(end.length - most, 0)
    head = FIRST_PREVIOUS
    if after:
        head = next((row.hash for row in trail.rows(after=after - 1)), "")
    walk = ChainWalk(trail.bench, length=after, head=head)
    for row in trail.rows(after=after):
        fault = walk.step(row)
        if fault is not None:
            return [*wrong, f"event {fault.seq}: {fault.found}; wanted {fault.wanted}"]
    return wrong


def _file(trail: RecordReader) -> Iterator[str]:
    for (line,) in trail.connection.execute("PRAGMA integrity_check(20)").fetchall():
        if line != "ok":
            yield f"file: {line}"


def _tables(trail: RecordReader) -> Iterator[str]:
    yield from (f"tables: {words}" for words in kept_differences(trail.connection))


def _events(trail: RecordReader, said: Callable[[int], None]) -> Iterator[str]:
    for row in trail.rows():
        if row.seq % EVERY == 0:
            said(row.seq)
        as_event(row, str(trail.path))
        if canonical(parsed(row.body)) != row.body:
            yield f"event {row.seq}: not in canonical form"


def _silent(_part: str, _done: int) -> None:
    """Nobody listens."""


def _certificates(trail: RecordReader) -> Iterator[str]:
    query = "SELECT seq FROM trail WHERE kind = 'certificate-issued' ORDER BY seq"
    issued = (trail.event_at(int(row[0])) for row in trail.connection.execute(query).fetchall())
    yield from (
        f"event {fault.seq}: {fault.found}; wanted {fault.wanted}" for fault in certificate_faults(trail, issued)
    )


def _signatures(trail: RecordReader) -> Iterator[str]:
    query = "SELECT seq FROM trail WHERE kind = 'record-signed' ORDER BY seq"
    signed = (trail.event_at(int(row[0])) for row in trail.connection.execute(query).fetchall())

    def hash_at(seq: int) -> str:
        return next((row.hash for row in trail.rows(after=seq - 1)), "")

    yield from signature_faults(trail, signed, hash_at)


def _projections(trail: RecordReader) -> Iterator[str]:
    yield from trail.projections.differences()
    try:
        trail.connection.execute("INSERT INTO job_words (job_words) VALUES ('integrity-check')")
    except sqlite3.DatabaseError as fault:
        if getattr(fault, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_READONLY:
            return  # looked at only: the words themselves were compared above
        yield f"search: {fault}"

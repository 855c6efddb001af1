"""Jobs of other benches that were taken in to be looked at; their events keep the hashes of their own chain."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence

from bench.models.job_state import JobLine, JobState
from bench.trail.codec import digest, unseal
from bench.trail.errors import RecordDamagedError
from bench.trail.events import Event, JobBroughtIn
from bench.trail.fold import fold
from bench.trail.job_lines import line_of
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_rows import RESTORE


def hash_over(bodies: Sequence[bytes]) -> str:
    """Return the hash over the hashes of a job's events.

    Parameters
    ----------
    bodies : Sequence[bytes]
        As stored, oldest first.

    Returns
    -------
    str
        SHA-256 in hex.
    """
    return hash_over_hashes(digest(body) for body in bodies)


def hash_over_hashes(hashes: Iterable[str]) -> str:
    """Return the hash over the hashes of a job's events.

    Parameters
    ----------
    hashes : Iterable[str]
        Of the events, oldest first.

    Returns
    -------
    str
        SHA-256 in hex.
    """
    return hashlib.sha256("".join(hashes).encode()).hexdigest()


def guest_jobs(trail: RecordReader) -> list[JobState]:
    """Return the jobs of other benches that were taken in.

    Parameters
    ----------
    trail : RecordReader
        The record.

    Returns
    -------
    list[JobState]
        By bench and number.
    """
    pairs = trail.connection.execute("SELECT DISTINCT bench, job FROM guests ORDER BY bench, job").fetchall()
    return [fold(guest_events(trail, bench=str(bench), number=str(job))) for bench, job in pairs]


def guest_benches(trail: RecordReader) -> list[str]:
    """Return whose jobs were taken in, one a job.

    Parameters
    ----------
    trail : RecordReader
        The record.

    Returns
    -------
    list[str]
        In the order of `guest_jobs` and `guest_lines`.
    """
    return [
        str(row[0]) for row in trail.connection.execute("SELECT DISTINCT bench, job FROM guests ORDER BY bench, job")
    ]


def guest_lines(trail: RecordReader) -> list[JobLine]:
    """Return the jobs that were taken in as rows of a list.

    Parameters
    ----------
    trail : RecordReader
        The record.

    Returns
    -------
    list[JobLine]
        By bench and number.
    """
    lines: list[JobLine] = []
    for bench, state in zip(guest_benches(trail), guest_jobs(trail), strict=True):
        moments = [event.utc for event in guest_events(trail, bench=bench, number=state.number)]
        lines.append(line_of(state, last_utc=moments[-1]))
    return lines


def guest_events(trail: RecordReader, *, bench: str, number: str) -> Iterator[Event]:
    """Stream the events of a job that was taken in.

    Parameters
    ----------
    trail : RecordReader
        The record.
    bench : str
        Whose job.
    number : str
        Its number there.

    Yields
    ------
    Event
        Oldest first.
    """
    for body in guest_bodies(trail, bench=bench, number=number):
        yield unseal(body)


def guest_bodies(trail: RecordReader, *, bench: str, number: str) -> list[bytes]:
    """Return the events of a job that was taken in, as stored.

    Parameters
    ----------
    trail : RecordReader
        The record.
    bench : str
        Whose job.
    number : str
        Its number there.

    Returns
    -------
    list[bytes]
        Oldest first.

    Raises
    ------
    RecordDamagedError
        When one was changed.
    """
    found = trail.connection.execute(
        "SELECT body, hash FROM guests WHERE bench = ? AND job = ? ORDER BY seq", (bench, number)
    ).fetchall()
    if any(not isinstance(body, bytes) or digest(body) != told for body, told in found):
        raise RecordDamagedError(str(trail.path), found=f"job {number} of bench {bench} was changed", do=RESTORE)
    return [bytes(body) for body, _ in found]


def guest_faults(trail: RecordReader) -> Iterator[str]:
    """Compare what was taken in with what the trail says was taken in.

    Parameters
    ----------
    trail : RecordReader
        The record.

    Yields
    ------
    str
        One sentence a fault.
    """
    told: dict[tuple[str, str], set[str]] = {}
    for row in trail.connection.execute("SELECT seq FROM trail WHERE kind = 'job-brought-in' ORDER BY seq").fetchall():
        payload = trail.event_at(int(row[0])).payload
        if isinstance(payload, JobBroughtIn):
            told.setdefault((payload.from_bench, payload.number), set()).add(f"{payload.events} {payload.sha256}")
    for bench, job in trail.connection.execute("SELECT DISTINCT bench, job FROM guests").fetchall():
        if (bench, job) not in told:
            yield f"job {job} of bench {bench} was taken in, but no event tells of it"
    for (bench, job), wanted in told.items():
        bodies = guest_bodies(trail, bench=bench, number=job)
        # a job may be taken in again when it has grown: each time its first so many events are what was told
        for entry in wanted:
            count, sha256 = entry.split()
            if hash_over(bodies[: int(count)]) != sha256:
                yield f"job {job} of bench {bench} is not as it was taken in"

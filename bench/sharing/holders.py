"""Who holds a job, decided by the database: a turn is given once, so one bench goes on with it and no other."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from bench.trail.errors import RecordBusyError, RecordError

if TYPE_CHECKING:
    from psycopg import Connection

_LAST = b"SELECT turn, holder, by, reason, since FROM spinledger.holders WHERE bench = %s AND job = %s "
_NEWEST = _LAST + b"ORDER BY turn DESC LIMIT 1"
_TURN = b"INSERT INTO spinledger.holders (bench, job, turn, holder, by, reason) VALUES (%s, %s, %s, %s, %s, %s)"
_LOCK = b"SELECT pg_advisory_xact_lock(hashtextextended(%s || chr(10) || %s, 11))"


class JobHeldError(RecordBusyError):
    """Another bench goes on with the job."""

    what = "job"


def note_hand_over(connection: Connection, *, bench: str, job: str, to_bench: str, by: str, reason: str) -> None:
    """Note that a job was handed over; in the transaction that ships the entry of it.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    bench : str
        Whose job.
    job : str
        Its number there.
    to_bench : str
        Who is to go on with it.
    by : str
        Initials.
    reason : str
        Why.
    """
    connection.execute(_LOCK, (bench, job))
    row = connection.execute(_NEWEST, (bench, job)).fetchone()
    if row is None:
        # a bench that took it over meanwhile keeps it
        connection.execute(_TURN, (bench, job, 1, to_bench, by, reason))


def claim_job(connection: Connection, *, bench: str, job: str, holder: str, by: str, reason: str, gone: bool) -> bool:
    """Claim a job of another bench; of several that try, one gets it.

    Parameters
    ----------
    connection : Connection
        To the shared record.
    bench : str
        Whose job.
    job : str
        Its number there.
    holder : str
        Who wants to go on with it.
    by : str
        Initials.
    reason : str
        Why.
    gone : bool
        Take it although it was not handed over.

    Returns
    -------
    bool
        True when it was handed over to this bench; False when it was taken because the other is gone.

    Raises
    ------
    JobHeldError
        When another bench has it, or it was not handed over and nobody said that the other is gone.
    """
    where = f"{job} of bench {bench}"
    with connection.transaction():
        connection.execute(_LOCK, (bench, job))
        row = connection.execute(_NEWEST, (bench, job)).fetchone()
        if row is not None and row[1] == holder:
            return not str(row[3]).startswith(_GONE)
        if row is not None:
            raise JobHeldError(
                where,
                found=f"bench {row[1]} goes on with it since {row[4]:%Y-%m-%d %H:%M} ({row[2]}: {row[3]})",
                do=f"take it over from bench {row[1]}, under its number there",
            )
        if not gone:
            raise JobHeldError(
                where,
                found="it was not handed over",
                do=f"hand it over at bench {bench}; or, if that bench is gone, say so with --gone",
            )
        connection.execute(_TURN, (bench, job, 1, holder, by, f"{_GONE}{reason}"))
    return False


_GONE = "gone: "


def held_elsewhere(others: Path, *, bench: str, job: str) -> str:
    """Return which other bench goes on with one of this bench's jobs, as far as was heard.

    Parameters
    ----------
    others : Path
        The copy of what other benches shipped; it need not exist.
    bench : str
        This bench.
    job : str
        Number of its job.

    Returns
    -------
    str
        In words; "" when none does.
    """
    from contextlib import closing

    from bench.sharing.others import OthersCopy

    if not others.exists():
        return ""
    try:
        with closing(OthersCopy(others)) as copy:
            held = copy.holder_of(bench, job)
    except RecordError:
        return ""  # a copy that cannot be read never stops a bench
    return "" if held is None else f"bench {held[0]} goes on with it since {held[3][:16]} ({held[1]}: {held[2]})"

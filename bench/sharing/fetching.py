"""Fetches what other benches shipped into the copy on this computer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from itertools import islice
from typing import TYPE_CHECKING

from bench.sharing.forks import hash_at
from bench.sharing.others import FORGET_IT, OthersCopy
from bench.trail.contract import Checkpoint
from bench.trail.errors import RecordDamagedError
from bench.trail.postgres_reading import LINE, SharedReader

if TYPE_CHECKING:
    from psycopg import Connection

STEP = 10_000
# one question for the ends of all chains: a bench that only listens costs the database little, however many there are
_ENDS = (
    b"SELECT b.bench, newest.seq, newest.hash FROM spinledger.benches AS b CROSS JOIN LATERAL (SELECT seq, hash FROM "
    b"spinledger.trail AS t WHERE t.bench = b.bench ORDER BY seq DESC LIMIT 1) AS newest WHERE b.bench <> %s "
)
_ENDS_OF = _ENDS + b"AND b.bench = ANY(%s)"
_LINES = (
    b"SELECT last_seq, EXISTS (SELECT 1 FROM spinledger.jobs_due AS due WHERE due.bench = lines.bench), bench, "
    + LINE
    + b" FROM spinledger.job_lines AS lines WHERE bench = %s AND last_seq > %s"
)
_HOLDERS = b"SELECT bench, job, turn, holder, by, reason, since::text FROM spinledger.holders WHERE since > now() - %s"
_ALL_TIME, _LATELY = timedelta(days=36_500), timedelta(hours=1)


class Fetcher:
    """Brings the copy up to the shared record.

    Parameters
    ----------
    connection : Connection
        To the shared record.
    where : str
        Its address without the password.
    own : str
        This bench, which needs no copy of itself.
    copy : OthersCopy
        Where to.
    """

    def __init__(self, connection: Connection, where: str, *, own: str, copy: OthersCopy) -> None:
        self._connection, self._where, self._own, self._copy = connection, where, own, copy
        self._reader = SharedReader(connection, own, where)
        self._lines_after: dict[str, int] = {}
        self._lines_open: set[str] = set()
        self._began = False

    def fetch(self, *, only: frozenset[str] | None = None, progress: Callable[[int], None] | None = None) -> int:
        """Fetch everything that is not here yet.

        Parameters
        ----------
        only : frozenset[str] | None
            From these benches; None for all, and for who holds which job.
        progress : Callable[[int], None] | None
            Told how many were fetched so far.

        Returns
        -------
        int
            Events fetched.

        Raises
        ------
        RecordDamagedError
            When the shared record is no longer what was fetched from it before.
        """
        done = 0
        own = self._own
        ends = (
            self._reader.all_of(_ENDS, (own,)) if only is None else self._reader.all_of(_ENDS_OF, (own, sorted(only)))
        )
        for name, seq, head in ends:
            bench = str(name)
            reader = SharedReader(self._connection, bench, self._where)
            if self._copy.checkpoint(bench) != Checkpoint(bench, int(str(seq)), str(head)):
                self._lines_open.add(bench)
            elif self._began:
                continue
            while fetched := self._some(bench, reader):
                done += fetched
                if progress is not None:
                    progress(done)
        if only is None:
            for bench in sorted(self._lines_open if self._began else {str(row[0]) for row in ends}):
                self._take_lines(bench)
            self._copy.take_holders(self._reader.all_of(_HOLDERS, (_LATELY if self._began else _ALL_TIME,)))
            self._began = True
        return done

    def _some(self, bench: str, reader: SharedReader) -> int:
        here = self._copy.checkpoint(bench)
        there = reader.checkpoint()
        # a database that lost its newest events, by a crash or an older backup, gets them again from the bench itself
        both = min(here.length, there.length)
        found, known = (hash_at(reader, both), self._copy.hash_at(bench, both)) if both else ("", "")
        if found != known:
            raise RecordDamagedError(
                self._where,
                found=f"event {both} of bench '{bench}' is not the one that was fetched before: "
                "the shared record was written anew",
                do=f"ask who looks after the database; once it is cleared up, {FORGET_IT} ({self._copy.path})",
            )
        if there.length <= here.length:
            return 0
        return self._copy.take(bench, islice(reader.rows(after=here.length), STEP))

    def _take_lines(self, bench: str) -> None:
        after = self._lines_after.get(bench, 0)
        found = self._reader.all_of(_LINES, (bench, after))
        if not found:
            return  # due still, or its newest events are of no job: looked at again when more comes
        self._copy.take_lines(row[2:] for row in found)
        # rows follow their events in no fixed order: only when none is due any more all older ones are here
        if not found[0][1]:
            self._lines_after[bench] = max(int(str(row[0])) for row in found)
            self._lines_open.discard(bench)

"""Ships a bench's committed events to the shared record: in order, each exactly once."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from bench.sharing.forks import refuse_fork
from bench.sharing.holders import note_hand_over
from bench.sharing.writer_token import WriterToken, claim
from bench.trail.attachments import attachment
from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.codec import unseal
from bench.trail.contract import Checkpoint
from bench.trail.errors import RecordDamagedError
from bench.trail.events import FileAttached, JobHandedOver
from bench.trail.job_tally import Tally, tally_of
from bench.trail.postgres_lines import SharedLines
from bench.trail.postgres_reading import SharedReader
from bench.trail.postgres_store import copy_in, lock_chain
from bench.trail.sqlite_reading import RecordReader
from bench.trail.sqlite_rows import as_event

if TYPE_CHECKING:
    from psycopg import Connection

MOST_A_STEP = 10_000
"""Events shipped in one transaction at most: what is lost by a cut link is sent again, and no more."""
JOBS_A_STEP = 100
_DUE = b"INSERT INTO spinledger.jobs_due (bench, job) SELECT %s, unnest(%s::text[]) ON CONFLICT DO NOTHING"
_DUE_JOBS = b"SELECT job FROM spinledger.jobs_due WHERE bench = %s ORDER BY job LIMIT %s"
_DONE = b"DELETE FROM spinledger.jobs_due WHERE bench = %s AND job = ANY(%s)"
_HOLD = b"INSERT INTO spinledger.attachments (sha256, content) VALUES (%s, %s) ON CONFLICT DO NOTHING"


class Shipper:
    """Ships one record.

    Parameters
    ----------
    local : RecordReader
        This bench's record, only looked at.
    connection : Connection
        To the shared record.
    where : str
        Its address without the password.
    token : WriterToken
        Which copy of the record this is.
    moved : str
        Why another copy shipped before; "" when none did.
    """

    def __init__(
        self, local: RecordReader, connection: Connection, where: str, token: WriterToken, *, moved: str = ""
    ) -> None:
        self._local, self._connection, self._where = local, connection, where
        self._token, self._moved = token, moved
        self._claimed = False
        self.shared = SharedReader(connection, local.bench, where)
        self._lines = SharedLines(connection, local.bench)

    def behind(self) -> int:
        """Return how many events are still to be shipped."""
        return max(self._local.checkpoint().length - self.shared.checkpoint().length, 0)

    def ship(self, *, most: int = MOST_A_STEP) -> int:
        """Ship what comes next, in one transaction.

        Parameters
        ----------
        most : int
            No more events than so many.

        Returns
        -------
        int
            Events that are in the shared record now and were not before.

        Raises
        ------
        ForkedChainError
            When this chain does not go on from what was shipped.
        RecordError
            When the shared record cannot take them; it has all of them or none.
        """
        bench = self._local.bench
        with self.shared.telling(), self._connection.transaction():
            lock_chain(self._connection, bench)
            if not self._claimed:
                claim(self._connection, bench, self._token, where=self._where, moved=self._moved)
            end = self.shared.checkpoint()
            refuse_fork(self._local, self.shared, end)
            sent = _Sent(self._local, end)
            first = next(rows := sent.rows(most), None)
            if first is not None:
                copy_in(self._connection, bench, itertools.chain([first], rows))
                self._connection.execute(_DUE, (bench, sorted(sent.jobs)))
                for by, job, handed in sent.handed:
                    note_hand_over(
                        self._connection, bench=bench, job=job, to_bench=handed.to_bench, by=by, reason=handed.reason
                    )
                for sha256 in sorted(sent.files):
                    self._connection.execute(_HOLD, (sha256, attachment(self._local, sha256)))
        self._claimed = True
        return sent.count

    def settle(self, *, most: int = JOBS_A_STEP) -> int:
        """Bring rows of the list of jobs up to their events, in one transaction.

        Parameters
        ----------
        most : int
            No more jobs than so many.

        Returns
        -------
        int
            Jobs that were due.
        """
        bench = self._local.bench
        try:
            with self.shared.telling(), self._connection.transaction():
                lock_chain(self._connection, bench)
                end = self.shared.checkpoint().length
                due = [str(row[0]) for row in self.shared.all_of(_DUE_JOBS, (bench, most))]
                if due:
                    self._lines.put(self._tally(job, end) for job in due)
                    self._connection.execute(_DONE, (bench, due))
        except BaseException:
            self._lines.forget()
            raise
        return len(due)

    def _tally(self, job: str, end: int) -> Tally:
        tally = self._lines.at_hand(job) or Tally()
        after = tally.state.last_seq if tally.state is not None else 0
        rows = itertools.takewhile(lambda row: row.seq <= end, self._local.rows(job=job, after=after))
        events = (as_event(row, self._where) for row in rows)
        if tally.state is None:
            tally = tally_of(events)
        else:
            for event in events:
                tally = tally.after(event)
        self._lines.keep(job, tally)
        return tally

    def ship_all(self, *, progress: Callable[[int], None] | None = None, most: int = MOST_A_STEP) -> int:
        """Ship until nothing is left, and bring the list of jobs up to it.

        Parameters
        ----------
        progress : Callable[[int], None] | None
            Told how many were shipped so far.
        most : int
            Events in one transaction at most.

        Returns
        -------
        int
            Events shipped.
        """
        done = 0
        while shipped := self.ship(most=most):
            done += shipped
            if progress is not None:
                progress(done)
            if shipped < most:
                break
        while self.settle() == JOBS_A_STEP:
            pass
        return done


class _Sent:
    """The rows that go out, proved on the way."""

    def __init__(self, local: RecordReader, end: Checkpoint) -> None:
        self._local, self._walk = local, ChainWalk(local.bench, length=end.length, head=end.head)
        self.jobs: set[str] = set()
        self.files: set[str] = set()
        self.handed: list[tuple[str, str, JobHandedOver]] = []
        self.count = 0

    def rows(self, most: int) -> Iterator[StoredRow]:
        for row in itertools.islice(self._local.rows(after=self._walk.length), most):
            fault = self._walk.step(row)
            if fault is not None:
                raise RecordDamagedError(
                    str(self._local.path),
                    found=f"event {fault.seq}: {fault.found}",
                    wanted=fault.wanted,
                    do="it was not shipped; restore the newest backup",
                )
            if row.job:
                self.jobs.add(row.job)
            if row.kind in {"file-attached", "job-handed-over"}:
                event = unseal(row.body)
                if isinstance(event.payload, FileAttached):
                    self.files.add(event.payload.sha256)
                elif isinstance(event.payload, JobHandedOver):
                    self.handed.append((event.by, event.job, event.payload))
            self.count += 1
            yield row

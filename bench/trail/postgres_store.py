"""The shared record as a store: PostgreSQL, a chain a bench, one durable transaction an append."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, cast

from bench.trail.chain import StoredRow
from bench.trail.clock import Clock
from bench.trail.events import Draft, Event
from bench.trail.job_tally import Tally, tally_of
from bench.trail.postgres_lines import SharedLines
from bench.trail.postgres_opening import connect_shared, shown
from bench.trail.postgres_reading import SharedReader
from bench.trail.sqlite_rows import as_event
from bench.trail.stamping import StepWatch, stamped

if TYPE_CHECKING:
    from psycopg import Connection

_LOCK = "SELECT pg_advisory_xact_lock(hashtextextended(%s, 7))"
_NAME = "INSERT INTO spinledger.benches (bench) VALUES (%s) ON CONFLICT DO NOTHING"
_KNOWN = b"SELECT seq, id, job, kind, body, hash FROM spinledger.trail WHERE bench = %s AND id = ANY(%s)"
COPY = "COPY spinledger.trail (bench, seq, id, job, kind, body, hash) FROM STDIN (FORMAT binary)"
COPY_TYPES = ("text", "int8", "text", "text", "text", "bytea", "text")


def open_shared(address: str, *, bench: str, clock: Clock, app_version: str, make: bool = False) -> PostgresTrail:
    """Open one bench's chain in the shared record, to write it there directly.

    Parameters
    ----------
    address : str
        postgresql://…
    bench : str
        Whose chain.
    clock : Clock
        Stamps.
    app_version : str
        Stamps.
    make : bool
        Make the tables when there are none.

    Returns
    -------
    PostgresTrail
        Ready.
    """
    connection = connect_shared(address, make=make)
    try:
        return PostgresTrail(connection, bench, shown(address), clock=clock, app_version=app_version)
    except BaseException:
        connection.close()
        raise


def lock_chain(connection: Connection, bench: str) -> None:
    """Let nobody else add to a chain until the transaction ends.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    bench : str
        Whose chain.
    """
    connection.execute(_LOCK, (bench,))
    connection.execute(_NAME, (bench,))


def copy_in(connection: Connection, bench: str, rows: Iterable[StoredRow]) -> None:
    """Add rows to a chain; in the transaction of the caller.

    Parameters
    ----------
    connection : Connection
        In a transaction that holds the chain.
    bench : str
        Whose chain.
    rows : Iterable[StoredRow]
        Those that follow its end.
    """
    with connection.cursor() as cursor, cursor.copy(COPY) as copy:
        copy.set_types(COPY_TYPES)
        for row in rows:
            copy.write_row((bench, *row))


class PostgresTrail(SharedReader):
    """A bench's chain in PostgreSQL; see the contract. Made by `open_shared`.

    Parameters
    ----------
    connection : Connection
        To the shared record.
    bench : str
        Whose chain.
    where : str
        The address without its password.
    clock : Clock
        Stamps.
    app_version : str
        Stamps.
    """

    def __init__(self, connection: Connection, bench: str, where: str, *, clock: Clock, app_version: str) -> None:
        super().__init__(connection, bench, where)
        self._clock, self._version = clock, app_version
        self.read_only = False
        self.held_by = ""
        self._lines = SharedLines(connection, bench)
        end = self.checkpoint().length
        self._watch = StepWatch(clock, last_utc=self.event_at(end).utc if end else "")

    def append(self, drafts: Sequence[Draft]) -> list[Event]:
        """Record drafts in one transaction; see the contract.

        Parameters
        ----------
        drafts : Sequence[Draft]
            Oldest first.

        Returns
        -------
        list[Event]
            As recorded; on the database's disk when this returns.
        """
        try:
            with self.telling(), self.connection.transaction():
                lock_chain(self.connection, self._bench)
                made, fresh = self._stamp([*self._watch.draft(), *drafts])
                if fresh:
                    copy_in(self.connection, self._bench, (row for _, row in fresh))
                    self._move(event for event, _ in fresh)
        except BaseException:
            self._lines.forget()
            raise
        for event, _ in fresh:
            self._watch.saw(event)
        return [made[draft.id] for draft in drafts]

    def _stamp(self, drafts: Sequence[Draft]) -> tuple[dict[str, Event], list[tuple[Event, StoredRow]]]:
        known = self.all_of(_KNOWN, (self._bench, [draft.id for draft in drafts]))
        made = {str(row[1]): as_event(StoredRow._make(cast("Iterable[int]", row)), self.where) for row in known}
        fresh: list[tuple[Event, StoredRow]] = []
        end = self.checkpoint()
        seq, previous = end.length, end.head
        for draft in drafts:
            if draft.id in made:
                continue
            seq += 1
            event, data = stamped(
                draft,
                seq=seq,
                bench=self._bench,
                clock=self._clock,
                app_version=self._version,
                previous_hash=previous,
            )
            previous = event.hash
            made[draft.id] = event
            fresh.append((event, StoredRow(seq, event.id, event.job, event.payload.kind, data, event.hash)))
        return made, fresh

    def _move(self, events: Iterable[Event]) -> None:
        moved: dict[str, Tally] = {}
        for event in events:
            if not event.job:
                continue
            before = moved.get(event.job) or self._lines.at_hand(event.job) or self._tally_before(event)
            moved[event.job] = before.after(event)
        for job, tally in moved.items():
            self._lines.keep(job, tally)
        self._lines.put(moved.values())

    def _tally_before(self, event: Event) -> Tally:
        return tally_of(earlier for earlier in self.events(job=event.job) if earlier.seq < event.seq)

"""What other benches shipped, kept on this computer to be read when the network is down; proved on arrival."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path

from bench.models.job_state import JobLine
from bench.trail.chain import ChainWalk, StoredRow
from bench.trail.codec import FIRST_PREVIOUS
from bench.trail.contract import Checkpoint
from bench.trail.errors import ForeignFileError, RecordDamagedError
from bench.trail.events import Event
from bench.trail.sqlite_faults import told
from bench.trail.sqlite_opening import connect
from bench.trail.sqlite_rows import as_event

FORGET_IT = "delete this file: it is only a copy, and is fetched again"
_APPLICATION = 0x53504C4F  # "SPLO"
_TABLES = (
    """
CREATE TABLE events (
    bench TEXT NOT NULL,
    seq   INTEGER NOT NULL CHECK (seq > 0),
    id    TEXT NOT NULL,
    job   TEXT NOT NULL,
    kind  TEXT NOT NULL,
    body  BLOB NOT NULL,
    hash  TEXT NOT NULL,
    PRIMARY KEY (bench, seq)
) STRICT""",
    "CREATE INDEX events_by_job ON events (bench, job, seq)",
    """
CREATE TABLE job_lines (
    bench TEXT NOT NULL,
    number TEXT NOT NULL,
    title TEXT NOT NULL,
    customer TEXT NOT NULL,
    engine TEXT NOT NULL,
    opened_utc TEXT NOT NULL,
    last_utc TEXT NOT NULL,
    step TEXT NOT NULL,
    simulated INTEGER NOT NULL,
    PRIMARY KEY (bench, number)
) STRICT""",
    """
CREATE TABLE holders (
    bench TEXT NOT NULL,
    job TEXT NOT NULL,
    turn INTEGER NOT NULL,
    holder TEXT NOT NULL,
    by TEXT NOT NULL,
    reason TEXT NOT NULL,
    since TEXT NOT NULL,
    PRIMARY KEY (bench, job, turn)
) STRICT""",
    f"PRAGMA application_id = {_APPLICATION}",
)


class OthersCopy:
    """The file beside the record that holds what other benches shipped.

    Parameters
    ----------
    path : Path
        Made when it is not there.

    Raises
    ------
    ForeignFileError
        When it is something else.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._connection = connect(path, mode="mode=rwc")
        try:
            if self._is_empty():
                self._make()
            if self._connection.execute("PRAGMA application_id").fetchone()[0] != _APPLICATION:
                raise ForeignFileError(str(path), found="another kind of file", do="move it away")  # noqa: TRY301
            # only a copy: losing its newest rows in a power cut costs fetching them again
            self._connection.execute("PRAGMA synchronous = NORMAL")
        except sqlite3.Error as fault:
            self._connection.close()
            raise told(fault, str(path)) from fault
        except BaseException:
            self._connection.close()
            raise

    def _is_empty(self) -> bool:
        return bool(self._connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0)

    def _make(self) -> None:
        self._connection.execute("PRAGMA journal_mode = WAL")
        self._connection.execute("BEGIN IMMEDIATE")
        # another program may have made them in this moment
        for statement in _TABLES if self._is_empty() else ():
            self._connection.execute(statement)
        self._connection.execute("COMMIT")

    def close(self) -> None:
        """Release the file."""
        self._connection.close()

    def benches(self) -> list[str]:
        """Return whose events are here, in order of their names."""
        return [str(row[0]) for row in self._all("SELECT DISTINCT bench FROM job_lines ORDER BY bench")]

    def checkpoint(self, bench: str) -> Checkpoint:
        """Return how far a bench's chain has come here.

        Parameters
        ----------
        bench : str
            Whose.

        Returns
        -------
        Checkpoint
            Length 0 when nothing of it is here.
        """
        rows = self._all("SELECT seq, hash FROM events WHERE bench = ? ORDER BY seq DESC LIMIT 1", bench)
        return (
            Checkpoint(bench, int(str(rows[0][0])), str(rows[0][1])) if rows else Checkpoint(bench, 0, FIRST_PREVIOUS)
        )

    def hash_at(self, bench: str, seq: int) -> str:
        """Return the hash of one event.

        Parameters
        ----------
        bench : str
            Whose.
        seq : int
            Its place.

        Returns
        -------
        str
            "" when it is not here.
        """
        rows = self._all("SELECT hash FROM events WHERE bench = ? AND seq = ?", bench, seq)
        return str(rows[0][0]) if rows else ""

    def take(self, bench: str, rows: Iterable[StoredRow]) -> int:
        """Keep rows that follow what is here, each proved before.

        Parameters
        ----------
        bench : str
            Whose.
        rows : Iterable[StoredRow]
            In order.

        Returns
        -------
        int
            How many.

        Raises
        ------
        RecordDamagedError
            When one does not follow; nothing of them is kept.
        """
        end = self.checkpoint(bench)
        walk = ChainWalk(bench, length=end.length, head=end.head)

        def proved() -> Iterator[tuple[object, ...]]:
            for row in rows:
                fault = walk.step(row)
                if fault is not None:
                    raise RecordDamagedError(
                        f"of bench {bench} in the shared record",
                        found=f"event {fault.seq}: {fault.found}",
                        wanted=fault.wanted,
                        do="do not trust it further: `spinledger verify --record postgresql://…` tells more",
                    )
                yield (bench, *row)

        with self._writing() as connection:
            connection.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?)", proved())
        return walk.length - end.length

    def take_lines(self, rows: Iterable[tuple[object, ...]]) -> None:
        """Keep rows of the list of jobs.

        Parameters
        ----------
        rows : Iterable[tuple[object, ...]]
            Bench, number, title, customer, engine, opened, last, step, simulated.
        """
        with self._writing() as connection:
            connection.executemany("INSERT OR REPLACE INTO job_lines VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", rows)

    def take_holders(self, rows: Iterable[tuple[object, ...]]) -> None:
        """Keep who holds which job.

        Parameters
        ----------
        rows : Iterable[tuple[object, ...]]
            Bench, job, turn, holder, by, reason, since.
        """
        with self._writing() as connection:
            connection.executemany("INSERT OR IGNORE INTO holders VALUES (?, ?, ?, ?, ?, ?, ?)", rows)

    def holder_of(self, bench: str, job: str) -> tuple[str, str, str, str] | None:
        """Return who holds a job, as far as was heard.

        Parameters
        ----------
        bench : str
            Where it was opened.
        job : str
            Its number there.

        Returns
        -------
        tuple[str, str, str, str] or None
            Holder, by, reason, since; None when it was never handed over.
        """
        rows = self._all(
            "SELECT holder, by, reason, since FROM holders WHERE bench = ? AND job = ? ORDER BY turn DESC LIMIT 1",
            bench,
            job,
        )
        return (str(rows[0][0]), str(rows[0][1]), str(rows[0][2]), str(rows[0][3])) if rows else None

    def lines(self) -> list[tuple[str, JobLine]]:
        """Return all jobs of other benches, the newest activity first.

        Returns
        -------
        list[tuple[str, JobLine]]
            Bench and row.
        """
        from bench.trail.projections import LINE_COLUMNS, line_from

        names = ", ".join(LINE_COLUMNS)
        found = self._all(f"SELECT bench, {names} FROM job_lines ORDER BY last_utc DESC")  # noqa: S608 our own names
        return [(str(row[0]), line_from(row[1:])) for row in found]

    def events(self, *, bench: str, job: str) -> Iterator[Event]:
        """Return a job's events.

        Parameters
        ----------
        bench : str
            Whose job.
        job : str
            Its number there.

        Yields
        ------
        Event
            Oldest first.
        """
        query = "SELECT seq, id, job, kind, body, hash FROM events WHERE bench = ? AND job = ? ORDER BY seq"
        for values in self._all(query, bench, job):
            yield as_event(StoredRow._make(values), str(self.path))

    def _all(self, query: str, *values: object) -> list[tuple[object, ...]]:
        try:
            return self._connection.execute(query, values).fetchall()
        except sqlite3.Error as fault:
            raise told(fault, str(self.path)) from fault

    def _writing(self) -> _Writing:
        return _Writing(self._connection, str(self.path))


class _Writing:
    """One transaction of the copy."""

    def __init__(self, connection: sqlite3.Connection, where: str) -> None:
        self._connection, self._where = connection, where

    def __enter__(self) -> sqlite3.Connection:
        self._connection.execute("BEGIN IMMEDIATE")
        return self._connection

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: object) -> None:
        try:
            self._connection.execute("ROLLBACK" if kind is not None else "COMMIT")
        except sqlite3.Error as again:
            raise told(again, self._where) from fault
        if isinstance(fault, sqlite3.Error):
            raise told(fault, self._where) from fault


def events_of_others(path: Path, *, bench: str, job: str) -> list[Event]:
    """Return the events of another bench's job out of the copy on this computer.

    Parameters
    ----------
    path : Path
        The copy; it need not exist.
    bench : str
        Whose job.
    job : str
        Its number there.

    Returns
    -------
    list[Event]
        Oldest first; empty when nothing of it is here.
    """
    if not path.exists():
        return []
    with closing(OthersCopy(path)) as copy:
        return list(copy.events(bench=bench, job=job))


def lines_of_others(path: Path) -> list[tuple[str, JobLine]]:
    """Return the jobs of other benches out of the copy on this computer.

    Parameters
    ----------
    path : Path
        The copy; it need not exist.

    Returns
    -------
    list[tuple[str, JobLine]]
        Bench and row, the newest activity first.
    """
    if not path.exists():
        return []
    with closing(OthersCopy(path)) as copy:
        return copy.lines()

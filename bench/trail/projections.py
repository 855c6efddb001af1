"""The list of jobs and the search table, moved on with each event and rebuilt at any time."""

from __future__ import annotations

import sqlite3
from collections import OrderedDict
from collections.abc import Iterator
from typing import TYPE_CHECKING

from bench.models.job_state import JobLine, JobState
from bench.trail.events import Event
from bench.trail.job_lines import WORD_COLUMNS, changes_words, line_of, moved_on, words_of
from bench.trail.schema import make_projections
from bench.trail.search import tokens
from bench.trail.sqlite_rows import as_event, rows_of

if TYPE_CHECKING:
    from sqlite_utils import Database

LINE_COLUMNS = ("number", "title", "customer", "engine", "opened_utc", "last_utc", "step", "simulated")
_ROW = ("opened_seq", *LINE_COLUMNS, "last_seq")
_MOVE = (
    f"INSERT INTO job_lines ({', '.join(_ROW)}) VALUES ({', '.join('?' for _ in _ROW)}) "  # noqa: S608 our own names
    f"ON CONFLICT (opened_seq) DO UPDATE SET {', '.join(f'{name} = excluded.{name}' for name in _ROW[1:])}"
)
_SAY = (
    f"INSERT INTO job_words (rowid, {', '.join(WORD_COLUMNS)}) "  # noqa: S608 our own names
    f"VALUES (?, {', '.join('?' for _ in WORD_COLUMNS)})"
)
_LINE = f"SELECT {', '.join(_ROW)} FROM job_lines WHERE opened_seq = ?"  # noqa: S608 our own names
_WORDS = f"SELECT rowid, {', '.join(WORD_COLUMNS)} FROM job_words WHERE rowid = ?"  # noqa: S608 our own names
_JOBS_AT_HAND = 8


class Projections:
    """Keeps the projections of one record in step, inside the transaction of the append.

    Parameters
    ----------
    connection : sqlite3.Connection
        To the record.
    where : str
        The file, for messages.
    """

    def __init__(self, connection: sqlite3.Connection, where: str) -> None:
        self._connection, self._where = connection, where
        self._at_hand: OrderedDict[str, JobState] = OrderedDict()

    def forget(self) -> None:
        """Forget the states at hand: what they were moved on by was not recorded."""
        self._at_hand.clear()

    def move(self, event: Event) -> None:
        """Move a job's line on.

        Parameters
        ----------
        event : Event
            Just inserted.
        """
        if not event.job:
            return
        before = self._at_hand.get(event.job) or self._state(event.job, before=event.seq)
        state = moved_on(before, event)
        if state is None:
            return
        self._at_hand[event.job] = state
        self._at_hand.move_to_end(event.job)
        if len(self._at_hand) > _JOBS_AT_HAND:
            self._at_hand.popitem(last=False)
        self._connection.execute(_MOVE, _line_values(state, event.utc))
        if changes_words(event):
            self._connection.execute("DELETE FROM job_words WHERE rowid = ?", (state.opened.seq,))
            self._connection.execute(_SAY, _word_values(state))

    def _state(self, job: str, *, before: int) -> JobState | None:
        state: JobState | None = None
        for row in rows_of(self._connection, self._where, job=job):
            if row.seq < before:
                state = moved_on(state, as_event(row, self._where))
        return state

    def are_fresh(self) -> bool:
        """Return whether they tell of the newest event of a job."""
        newest = self._connection.execute("SELECT seq FROM trail WHERE job <> '' ORDER BY seq DESC LIMIT 1").fetchone()
        told = self._connection.execute("SELECT max(last_seq) FROM job_lines").fetchone()
        return bool((newest[0] if newest else None) == told[0])

    def fold_all(self) -> Iterator[tuple[JobState, str]]:
        """Fold every job from the trail, one at a time.

        Yields
        ------
        tuple[JobState, str]
            State, and the moment of the newest event.
        """
        job = ""
        while found := self._connection.execute("SELECT min(job) FROM trail WHERE job > ?", (job,)).fetchone()[0]:
            job = str(found)
            state, utc = None, ""
            for row in rows_of(self._connection, self._where, job=job):
                event = as_event(row, self._where)
                state, utc = moved_on(state, event), event.utc
            if state is not None:
                yield state, utc

    def rebuild(self, database: Database) -> None:
        """Make both tables anew from the trail, in one transaction.

        Parameters
        ----------
        database : Database
            Of the same connection.
        """
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            make_projections(database)
            for state, utc in self.fold_all():
                self._connection.execute(_MOVE, _line_values(state, utc))
                self._connection.execute(_SAY, _word_values(state))
            self._connection.execute("COMMIT")
        except BaseException:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            raise

    def differences(self) -> list[str]:
        """Compare both tables with what the trail says.

        Returns
        -------
        list[str]
            What differs, in words.
        """
        wrong: list[str] = []
        count = 0
        for state, utc in self.fold_all():
            count += 1
            seq = state.opened.seq
            line = self._connection.execute(_LINE, (seq,)).fetchone()
            words = self._connection.execute(_WORDS, (seq,)).fetchone()
            if line != _line_values(state, utc):
                wrong.append(f"the list of jobs says something else of job {state.number} than its events")
            if words != _word_values(state):
                wrong.append(f"the search says something else of job {state.number} than its events")
        for table in ("job_lines", "job_words"):
            told = self._connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]  # noqa: S608
            if told != count:
                wrong.append(f"{table} tells of {told} jobs; the trail of {count}")
        return wrong


def _line_values(state: JobState, utc: str) -> tuple[object, ...]:
    line = line_of(state, last_utc=utc)
    texts = (line.number, line.title, line.customer, line.engine, line.opened_utc, line.last_utc, line.step)
    return (state.opened.seq, *texts, int(line.simulated), state.last_seq)


def _word_values(state: JobState) -> tuple[object, ...]:
    return (state.opened.seq, *(" ".join(tokens(text)) for text in words_of(state)))


def line_from(row: tuple[object, ...]) -> JobLine:
    """Return a row of the list of jobs as what it tells.

    Parameters
    ----------
    row : tuple[object, ...]
        In the order of LINE_COLUMNS.

    Returns
    -------
    JobLine
        One row.
    """
    number, title, customer, engine, opened, last, step, simulated = row
    return JobLine(
        number=str(number),
        title=str(title),
        customer=str(customer),
        engine=str(engine),
        opened_utc=str(opened),
        last_utc=str(last),
        step=str(step),
        simulated=bool(simulated),
    )

"""The shared record's list of jobs, search and numbers: one row a job, folded from its events."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from typing import TYPE_CHECKING

from bench.models.job_state import JobState
from bench.trail.job_lines import line_of, words_of
from bench.trail.job_tally import Tally, numbers_of
from bench.trail.search import tokens, wanted_words

if TYPE_CHECKING:
    from psycopg import Connection

LONGEST_TOKEN = 500
_JOBS_AT_HAND = 8
COLUMNS = (
    "bench", "number", "title", "customer", "engine", "opened_utc", "last_utc", "step", "simulated", "last_seq",
    "words", "seconds", "runs", "cuts", "sets", "sets_out", "checks", "checks_failed", "signed", "within",
)  # fmt: skip
_PUT = (
    f"INSERT INTO spinledger.job_lines ({', '.join(COLUMNS)}) "  # noqa: S608 our own names
    f"VALUES ({', '.join('%s::tsvector' if name == 'words' else '%s' for name in COLUMNS)}) "
    f"ON CONFLICT (bench, number) DO UPDATE SET {', '.join(f'{name} = excluded.{name}' for name in COLUMNS[2:])}"
).encode()


def search_vector(columns: Iterable[str]) -> str:
    """Return a job's texts as the database's search takes them: plain words with their places.

    Parameters
    ----------
    columns : Iterable[str]
        A job's texts; no phrase reaches from one into the next.

    Returns
    -------
    str
        For a cast to tsvector.

    Examples
    --------
    >>> search_vector(["Heron", "2031-0007"])
    "'heron':1 '2031':3 '0007':4"
    """
    words: list[str] = []
    place = 0
    for column in columns:
        for word in tokens(column):
            place += 1
            words.append(f"'{word[:LONGEST_TOKEN]}':{min(place, 16_383)}")
        place += 1
    return " ".join(words)


def search_query(words: str) -> str:
    """Return what is looked for as the database's search takes it.

    Parameters
    ----------
    words : str
        As typed; nothing in it is taken as an operator.

    Returns
    -------
    str
        For a cast to tsquery; empty when there is nothing to look for.

    Examples
    --------
    >>> search_query("heron 2031-0007")
    "('heron':*) & ('2031' <-> '0007':*)"
    """
    return " & ".join(
        "(" + " <-> ".join(f"'{token[:LONGEST_TOKEN]}'" for token in word) + ":*)" for word in wanted_words(words)
    )


class SharedLines:
    """Keeps one bench's rows in step with its events.

    Parameters
    ----------
    connection : Connection
        To the shared record.
    bench : str
        Whose rows.
    """

    def __init__(self, connection: Connection, bench: str) -> None:
        self._connection, self._bench = connection, bench
        self._at_hand: OrderedDict[str, Tally] = OrderedDict()

    def forget(self) -> None:
        """Forget the tallies at hand: what they were moved on by was not recorded."""
        self._at_hand.clear()

    def at_hand(self, job: str) -> Tally | None:
        """Return a job's tally when it is at hand.

        Parameters
        ----------
        job : str
            Its number.

        Returns
        -------
        Tally or None
            None when its events must be read.
        """
        return self._at_hand.get(job)

    def keep(self, job: str, tally: Tally) -> None:
        """Keep a job's tally at hand.

        Parameters
        ----------
        job : str
            Its number.
        tally : Tally
            After its newest event.
        """
        self._at_hand[job] = tally
        self._at_hand.move_to_end(job)
        if len(self._at_hand) > _JOBS_AT_HAND:
            self._at_hand.popitem(last=False)

    def put(self, tallies: Iterable[Tally]) -> None:
        """Write rows; in the transaction of the caller.

        Parameters
        ----------
        tallies : Iterable[Tally]
            Jobs without an opening have no row.
        """
        rows = [line_values(self._bench, t.state, t) for t in tallies if t.state is not None]
        if rows:
            with self._connection.cursor() as cursor:
                cursor.executemany(_PUT, rows)


def line_values(bench: str, state: JobState, tally: Tally) -> tuple[object, ...]:
    """Return a job's row.

    Parameters
    ----------
    bench : str
        Whose job.
    state : JobState
        The job.
    tally : Tally
        Its time.

    Returns
    -------
    tuple[object, ...]
        In the order of COLUMNS.
    """
    line = line_of(state, last_utc=tally.utc)
    texts = (line.number, line.title, line.customer, line.engine, line.opened_utc, line.last_utc, line.step)
    told = numbers_of(state)
    return (
        bench,
        *(text.replace("\0", "\N{SYMBOL FOR NULL}") for text in texts),
        line.simulated,
        state.last_seq,
        search_vector(words_of(state)),
        tally.seconds,
        told.runs,
        told.cuts,
        told.sets,
        told.sets_out,
        told.checks,
        told.checks_failed,
        told.signed,
        told.within,
    )

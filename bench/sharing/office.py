"""All benches at once, to look at: what the office sees of the shared record."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING

from bench.models.job_state import JobLine
from bench.sharing.month_numbers import MonthNumbers, shared_numbers
from bench.trail.contract import ChainFault, Checkpoint
from bench.trail.postgres_lines import search_query
from bench.trail.postgres_opening import connect_shared, shown
from bench.trail.postgres_reading import LINE, SharedReader, line_from

if TYPE_CHECKING:
    from collections.abc import Generator

    from psycopg import Connection

_ALL = b"SELECT bench, " + LINE + b" FROM spinledger.job_lines "
_NEWEST = _ALL + b"ORDER BY last_utc DESC, bench, number LIMIT %s"
_FIND = _ALL + b"WHERE words @@ %s::tsquery ORDER BY last_utc DESC, bench, number LIMIT %s"
_WHOSE = b"SELECT bench FROM spinledger.job_lines WHERE number = %s ORDER BY bench"
_BENCHES = b"SELECT bench FROM spinledger.benches ORDER BY bench"


class Office:
    """The shared record, only looked at.

    Parameters
    ----------
    connection : Connection
        To the shared record.
    where : str
        Its address without the password.
    """

    def __init__(self, connection: Connection, where: str) -> None:
        self._connection, self.where = connection, where
        self._any = SharedReader(connection, "", where)

    def benches(self) -> list[str]:
        """Return all benches, in order of their names."""
        return [str(row[0]) for row in self._any.all_of(_BENCHES, ())]

    def chain(self, bench: str) -> SharedReader:
        """Return one bench's chain.

        Parameters
        ----------
        bench : str
            Whose.

        Returns
        -------
        SharedReader
            To read.
        """
        return SharedReader(self._connection, bench, self.where)

    def jobs(self, *, most: int | None = None) -> list[tuple[str, JobLine]]:
        """Return jobs of all benches, the newest activity first.

        Parameters
        ----------
        most : int | None
            No more than so many.

        Returns
        -------
        list[tuple[str, JobLine]]
            Bench and row.
        """
        return [(str(row[0]), line_from(row[1:])) for row in self._any.all_of(_NEWEST, (most,))]

    def find(self, words: str, *, most: int = 50) -> list[tuple[str, JobLine]]:
        """Find jobs of all benches; see the contract of a trail.

        Parameters
        ----------
        words : str
            Separated by spaces.
        most : int
            No more than so many.

        Returns
        -------
        list[tuple[str, JobLine]]
            Bench and row, the newest activity first.
        """
        query = search_query(words)
        found = self._any.all_of(_FIND, (query, most)) if query else []
        return [(str(row[0]), line_from(row[1:])) for row in found]

    def whose(self, job: str) -> list[str]:
        """Return the benches that have a job of this number.

        Parameters
        ----------
        job : str
            Its number.

        Returns
        -------
        list[str]
            In order of their names.
        """
        return [str(row[0]) for row in self._any.all_of(_WHOSE, (job,))]

    def numbers(self, *, since: str = "", until: str = "9999") -> list[MonthNumbers]:
        """Return the numbers of all benches, by bench and month; see `shared_numbers`.

        Parameters
        ----------
        since : str
            First month or day the jobs were opened in.
        until : str
            Last one, with all of it.

        Returns
        -------
        list[MonthNumbers]
            By bench and month.
        """
        return shared_numbers(self._any, since=since, until=until)

    def verify(
        self, *, progress: Callable[[str, int, int], None] | None = None
    ) -> list[tuple[Checkpoint, ChainFault | None]]:
        """Walk every chain.

        Parameters
        ----------
        progress : Callable[[str, int, int], None] | None
            Told now and then which bench's chain is walked, how far, and how long it is.

        Returns
        -------
        list[tuple[Checkpoint, ChainFault or None]]
            How far each has come, and where it is not whole.
        """
        told: list[tuple[Checkpoint, ChainFault | None]] = []
        for bench in self.benches():
            chain = self.chain(bench)
            end = chain.checkpoint()

            def tell(done: int, *, end: Checkpoint = end) -> None:
                if progress is not None:
                    progress(end.bench, done, end.length)

            told.append((end, chain.verify(progress=tell)))
        return told


@contextmanager
def looking(address: str) -> Generator[Office]:
    """Open the shared record to look.

    Parameters
    ----------
    address : str
        postgresql://…

    Yields
    ------
    Office
        Closed afterwards.
    """
    with closing(connect_shared(address, look_only=True)) as connection:
        yield Office(connection, shown(address))

"""What a trail promises; every store passes the same contract tests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from bench.models.job_state import JobLine
from bench.trail.events import Draft, Event


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """How far a chain had come: its bench, its length and the hash of its last event."""

    bench: str
    length: int
    head: str


@dataclass(frozen=True, slots=True)
class ChainFault:
    """Where a chain is not whole.

    Attributes
    ----------
    seq : int
        The first event that does not fit.
    found, wanted : str
        In words.
    """

    seq: int
    found: str
    wanted: str


class Trail(Protocol):
    """An append-only record of events. One writer; readers may come and go."""

    @property
    def read_only(self) -> bool:
        """True when another program writes this record, or the file cannot be written."""
        ...

    @property
    def held_by(self) -> str:
        """Why it is read-only: who writes it since when, or what is wrong; "" when all is well."""
        ...

    @property
    def bench(self) -> str:
        """Name of this bench."""
        ...

    def append(self, drafts: Sequence[Draft]) -> list[Event]:
        """Record drafts in one transaction; returns only when they are durable.

        A draft whose id is already recorded is not recorded again; its recorded event is returned.

        Parameters
        ----------
        drafts : Sequence[Draft]
            Oldest first.

        Returns
        -------
        list[Event]
            As recorded.

        Raises
        ------
        bench.trail.errors.RecordError
            When the record cannot take them (full, read-only, damaged, busy); nothing was recorded.
        """
        ...

    def events(self, *, job: str | None = None, after: int = 0) -> Iterator[Event]:
        """Stream recorded events in order.

        Parameters
        ----------
        job : str | None
            Only this job's events; None for all.
        after : int
            Only events with a larger seq.

        Returns
        -------
        Event
            Upcast to the present version.
        """
        ...

    def checkpoint(self) -> Checkpoint:
        """Return how far the chain has come."""
        ...

    def jobs(self, *, most: int | None = None) -> list[JobLine]:
        """Return jobs, the newest activity first.

        Parameters
        ----------
        most : int | None
            No more than so many; None for all.

        Returns
        -------
        list[JobLine]
            One row a job.
        """
        ...

    def numbers(self, prefix: str) -> list[str]:
        """Return the job numbers that begin so.

        Parameters
        ----------
        prefix : str
            For example a year and a hyphen.

        Returns
        -------
        list[str]
            In no order.
        """
        ...

    def find(self, words: str, *, most: int = 50) -> list[JobLine]:
        """Return the jobs in which every word begins some word, the newest activity first.

        Parameters
        ----------
        words : str
            Separated by spaces; number, title, customer, engine, serial, parts, notes and dates are looked into.
        most : int
            No more than so many.

        Returns
        -------
        list[JobLine]
            Empty when nothing fits, or no word was given.
        """
        ...

    def verify(self) -> ChainFault | None:
        """Walk the whole chain in constant memory; None when it is whole."""
        ...

    def close(self) -> None:
        """Release the record."""
        ...

"""Keeps a text copy behind the record while the bench works, on a thread of its own: a slow medium holds up nobody."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import TypeVar

from bench.trail.errors import RecordError
from bench.trail.sqlite_opening import connect, settle
from bench.trail.sqlite_reading import RecordReader
from bench.trail.text_copy import extend_text_copy, lost_since
from bench.trail.words import event_in_words

Told = TypeVar("Told")


class TextCopyKeeper:
    """Brings the copy up to the record soon after each entry.

    Parameters
    ----------
    record : Path
        The record's file.
    copy : Path
        The text copy.
    pause_s : float
        Entries that come within it are written together. [s]
    """

    def __init__(self, record: Path, copy: Path, *, pause_s: float = 0.5) -> None:
        self._record, self._copy, self._pause_s = record, copy, pause_s
        self._wanted, self._ending = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._keep, name="text copy", daemon=True)
        self.fault = ""
        self.copied = 0

    def start(self) -> None:
        """Begin; what is missing is copied at once."""
        self._wanted.set()
        self._thread.start()

    def recorded(self) -> None:
        """Something was recorded; returns at once."""
        self._wanted.set()

    def stop(self, *, patience_s: float = 5.0) -> None:
        """Copy what is left, then end.

        Parameters
        ----------
        patience_s : float
            So long a medium that hangs is waited for. [s]
        """
        self._ending.set()
        self._wanted.set()
        self._thread.join(patience_s)

    def _keep(self) -> None:
        while True:
            self._wanted.wait()
            self._wanted.clear()
            ending = self._ending.is_set()
            self._extend()
            if ending:
                return
            self._ending.wait(self._pause_s)

    def _extend(self) -> None:
        try:
            self.copied = with_reader(self._record, self._extended)
            self.fault = ""
        except RecordError as fault:
            self.fault = f"text copy: {fault.found}"
        except Exception as fault:  # noqa: BLE001 the bench goes on, and the fault is told
            self.fault = f"text copy: {fault}"

    def _extended(self, reader: RecordReader) -> int:
        return extend_text_copy(reader, self._copy).checkpoint.length


def with_reader(record: Path, act: Callable[[RecordReader], Told]) -> Told:
    """Ask something of a record beside the one who writes it.

    Parameters
    ----------
    record : Path
        The record's file.
    act : Callable[[RecordReader], Told]
        What is asked.

    Returns
    -------
    Told
        The answer.
    """
    with closing(connect(record, mode="mode=ro")) as connection:
        settle(connection, str(record), read_only=True)
        return act(RecordReader(connection, record))


def lost_words(record: Path, copy: Path, *, most: int = 3) -> str:
    """Return what a text copy has more than the record, in words: a drive lost what it said it kept.

    Parameters
    ----------
    record : Path
        The record's file.
    copy : Path
        The text copy.
    most : int
        So many of the newest lost entries are named.

    Returns
    -------
    str
        "" when nothing is missing, or there is no copy to tell.
    """
    if not copy.exists() or not record.exists():
        return ""
    try:
        lost = with_reader(record, lambda reader: lost_since(reader, copy))
    except RecordError:
        return ""
    if not lost:
        return ""
    named = "; ".join(event_in_words(event) for event in lost[-most:])
    told = f"the drive lost the newest {len(lost)} entries, the text copy has them"
    do = "`spinledger restore COPY` brings them back, with --gap the work goes on without them"
    return f"{told}: {named}. {do}"

"""Whether the bench ended the usual way: a mark beside the record that stands while a bench is at work."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from bench.trail.clock import local_moment
from bench.trail.disk import sync_file, sync_folder
from bench.trail.events import BobweightBuilt, CutMade, Event, ScaleChecked, SpinRun, WeightTaken
from bench.trail.sqlite_reading import RecordReader
from bench.trail.words import event_in_words

NEWEST = 3
LOOKED_THROUGH = 200
"""So many of the newest entries are looked through for readings."""
_READINGS = (WeightTaken, BobweightBuilt, SpinRun, CutMade, ScaleChecked)


@dataclass(frozen=True, slots=True)
class UncleanEnd:
    """The bench did not end the usual way, and what its record holds last.

    Attributes
    ----------
    last_seq : int
        Place of the newest entry.
    last_utc : str
        When it was made. [RFC 3339, UTC]
    last_local : str
        The same as the clock on the wall showed it.
    last_words : str
        What it is.
    readings : tuple[str, ...]
        The newest readings with what they were for, newest last.
    """

    last_seq: int
    last_utc: str
    last_local: str
    last_words: str
    readings: tuple[str, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """What is said of it, a line each."""
        return (
            "The bench did not end the usual way last time: the power failed, or the program was killed.",
            f"The record's last entry is {self.last_seq}, {self.last_local}: {self.last_words}",
            *(("The last that was read:",) if self.readings else ()),
            *(f"  {words}" for words in self.readings),
            (
                "Compare the last three with the part on the pan and your notes; lay the last part again if in doubt. "
                "What your notes have and the record has not must be weighed again."
            ),
        )


class AtWork:
    """The mark beside a record.

    Parameters
    ----------
    record : Path
        The record's file; whoever makes and takes the mark away has the right to write it.
    """

    def __init__(self, record: Path) -> None:
        self._path = record.with_name(record.name + ".at-work")

    @property
    def path(self) -> Path:
        """Where the mark is."""
        return self._path

    def begin(self) -> bool:
        """Set the mark, on disk when this returns; a drive that does not take it holds nobody up.

        Returns
        -------
        bool
            True when it stood there: the bench before did not take it away.
        """
        stood = self._path.exists()
        if not stood:
            try:
                self._path.write_text(f"a bench is at work here, process {os.getpid()}\n", encoding="utf-8")
                sync_file(self._path)
                sync_folder(self._path.parent)
            except OSError:
                return False
        return stood

    def end(self) -> None:
        """Take the mark away."""
        try:
            self._path.unlink(missing_ok=True)
            sync_folder(self._path.parent)
        except OSError:
            return


def newest_of(reader: RecordReader) -> UncleanEnd | None:
    """Return what a record holds last.

    Parameters
    ----------
    reader : RecordReader
        The record.

    Returns
    -------
    UncleanEnd | None
        None for a record without an entry.
    """
    length = reader.checkpoint().length
    if not length:
        return None
    last = reader.event_at(length)
    readings: list[Event] = []
    for seq in range(length, max(length - LOOKED_THROUGH, 0), -1):
        event = last if seq == length else reader.event_at(seq)
        if isinstance(event.payload, _READINGS):
            readings.insert(0, event)
            if len(readings) == NEWEST:
                break
    return UncleanEnd(
        length,
        last.utc,
        _moment(last),
        event_in_words(last),
        tuple(_told(event) for event in readings),
    )


def _moment(event: Event) -> str:
    return local_moment(event.utc, offset_min=event.offset_min)


def _told(event: Event) -> str:
    """Return a reading with its time of day and what it was for."""
    return f"{_moment(event)[11:19]}  {event.job}  {event_in_words(event)}"

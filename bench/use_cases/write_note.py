"""Write a note into a job."""

from __future__ import annotations

from bench.trail.events import Event, NoteWritten
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe

LONGEST_NOTE = 4000


def write_note(scribe: Scribe, text: str) -> Event:
    """Record a note.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    text : str
        The note.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When it is empty, too long, or no job is open.
    """
    if scribe.state is None:
        raise RefusedError("note", found="no job is open")
    if not text.strip():
        raise RefusedError("note", found="nothing written")
    if len(text) > LONGEST_NOTE:
        raise RefusedError("note", found=f"{len(text)} characters", wanted=f"up to {LONGEST_NOTE}")
    return scribe.record([NoteWritten(text=text)], how="typed")[0]

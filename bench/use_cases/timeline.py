"""Everything that happened to a job, a line an event."""

from __future__ import annotations

from bench.trail.contract import Trail
from bench.trail.words import event_in_words
from bench.use_cases.view import TrailLine


def timeline(trail: Trail, number: str, *, most: int | None = None) -> tuple[TrailLine, ...]:
    """Return the timeline of a job, oldest first.

    Parameters
    ----------
    trail : Trail
        The record.
    number : str
        Job number.
    most : int | None
        Only so many of the newest.

    Returns
    -------
    tuple[TrailLine, ...]
        In the order they were recorded.
    """
    lines = [
        TrailLine(seq=event.seq, when=event.utc, by=event.by, how=event.how, words=event_in_words(event), raw=event.raw)
        for event in trail.events(job=number)
    ]
    return tuple(lines if most is None else lines[-most:])

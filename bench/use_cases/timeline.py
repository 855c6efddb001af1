"""Everything that happened to a job, a line an event; all of it or what is asked for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bench.models.job import JobSpec
from bench.trail.clock import local_moment
from bench.trail.contract import Trail
from bench.trail.events import Event, JobAmended, JobOpened
from bench.trail.search import fits
from bench.trail.words import event_in_words
from bench.use_cases.view import TrailLine

SUBJECTS: dict[str, frozenset[str]] = {
    "weights": frozenset({"weight-taken", "weight-withdrawn", "cell-skipped", "bobweight-built", "route-chosen"}),
    "runs": frozenset({"spin-run", "spin-withdrawn"}),
    "cuts": frozenset({"cut-made", "cut-withdrawn"}),
    "scale": frozenset({"scale-checked", "link-changed", "clock-stepped", "temperature-noted"}),
    "notes": frozenset({"note-written", "file-attached"}),
    "papers": frozenset({"job-opened", "job-signed-off", "job-reopened", "certificate-issued", "rebuild-begun"})
    | {"job-handed-over", "job-taken-over", "record-signed"},
    "corrections": frozenset(
        {
            "gap-found",
            "weight-withdrawn",
            "spin-withdrawn",
            "cut-withdrawn",
            "job-amended",
            "job-reopened",
            "job-brought-in",
        }
    ),
}
"""What may be asked for, and the kinds of event it stands for. A weight that replaces another is a correction too."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Which lines of a timeline are wanted; what is empty asks for nothing.

    Attributes
    ----------
    subjects : tuple[str, ...]
        Keys of SUBJECTS, any of them.
    by : str
        Initials.
    how : str
        "auto", "typed", "imported" or "simulated".
    since, until : str
        Days or moments in UTC, as they sort: "2031-05-07" or "2031-05-07T12".
    words : str
        Every word begins some word of the line or of the instruments' own lines.
    """

    subjects: tuple[str, ...] = ()
    by: str = ""
    how: str = ""
    since: str = ""
    until: str = ""
    words: str = ""


def timeline(
    trail: Trail, number: str, *, most: int | None = None, asked: Asked | None = None
) -> tuple[TrailLine, ...]:
    """Return the timeline of a job, oldest first.

    Parameters
    ----------
    trail : Trail
        The record.
    number : str
        Job number.
    most : int | None
        Only so many of the newest.
    asked : Asked | None
        Only what is asked for.

    Returns
    -------
    tuple[TrailLine, ...]
        In the order they were recorded.
    """
    return lines_of(trail.events(job=number), most=most, asked=asked)


def lines_of(events: Iterable[Event], *, most: int | None = None, asked: Asked | None = None) -> tuple[TrailLine, ...]:
    """Return events as lines of a timeline.

    Parameters
    ----------
    events : Iterable[Event]
        Oldest first.
    most : int | None
        Only so many of the newest.
    asked : Asked | None
        Only what is asked for.

    Returns
    -------
    tuple[TrailLine, ...]
        In the order they came.
    """
    lines: list[TrailLine] = []
    spec: JobSpec | None = None
    for event in events:
        if isinstance(event.payload, JobOpened | JobAmended):
            spec = event.payload.spec
        if asked is None or _is_asked(event, asked, spec):
            lines.append(_line(event, spec))
    return tuple(lines if most is None else lines[max(len(lines) - most, 0) :])


def _line(event: Event, spec: JobSpec | None) -> TrailLine:
    return TrailLine(
        seq=event.seq,
        when=event.utc,
        by=event.by,
        how=event.how,
        words=event_in_words(event, spec),
        raw=event.raw,
        local=local_moment(event.utc, offset_min=event.offset_min),
    )


def _is_asked(event: Event, asked: Asked, spec: JobSpec | None) -> bool:
    return (
        (not asked.subjects or any(_is_about(event, subject) for subject in asked.subjects))
        and (not asked.by or event.by == asked.by)
        and (not asked.how or event.how == asked.how)
        and (not asked.since or event.utc >= asked.since)
        # a day or an hour that is named stands for all of it
        and (not asked.until or event.utc[: len(asked.until)] <= asked.until)
        and (not asked.words or _tells(event, asked.words, spec))
    )


def _tells(event: Event, words: str, spec: JobSpec | None) -> bool:
    # by the part's key, where "piston 3" is no pin; or just as the line reads
    as_read = event_in_words(event, spec).casefold()
    return fits(words, (event_in_words(event), *event.raw)) or words.casefold() in as_read


def _is_about(event: Event, subject: str) -> bool:
    if event.payload.kind in SUBJECTS[subject]:
        return True
    return subject == "corrections" and bool(getattr(event.payload, "supersedes", None))

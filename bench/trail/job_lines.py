"""What the list of jobs and the search know of a job: projections of its state, rebuilt at any time."""

from __future__ import annotations

from bench.models.job_state import JobLine, JobState
from bench.trail.events import Event, JobAmended, JobOpened, JobReopened, JobSignedOff, NoteWritten
from bench.trail.fold import FoldError, apply, fold
from bench.trail.steps import step_of

WORD_COLUMNS = ("number", "title", "customer", "engine", "serial", "parts", "notes", "dates")
"""What a search looks into."""


def moved_on(state: JobState | None, event: Event) -> JobState | None:
    """Return a job's state after one more event.

    Parameters
    ----------
    state : JobState | None
        Before; None when the job is new.
    event : Event
        The next event of the job.

    Returns
    -------
    JobState or None
        After; None while no job was opened.
    """
    if state is not None:
        return apply(state, event)
    try:
        return fold([event])
    except FoldError:
        return None


def line_of(state: JobState, *, last_utc: str) -> JobLine:
    """Return a job's row of the list.

    Parameters
    ----------
    state : JobState
        The job.
    last_utc : str
        Moment of its newest event.

    Returns
    -------
    JobLine
        One row.
    """
    spec = state.spec
    return JobLine(
        number=state.number,
        title=spec.title,
        customer=spec.customer,
        engine=spec.engine,
        opened_utc=state.opened.utc,
        last_utc=last_utc,
        step=step_of(state),
        simulated=spec.simulated,
    )


def changes_words(event: Event) -> bool:
    """Return whether an event changes what a search finds.

    Parameters
    ----------
    event : Event
        Any.

    Returns
    -------
    bool
        True when the job's words are to be written again.
    """
    return isinstance(event.payload, JobOpened | JobAmended | NoteWritten | JobSignedOff | JobReopened)


def words_of(state: JobState) -> tuple[str, ...]:
    """Return the text a search looks into, in the order of WORD_COLUMNS.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[str, ...]
        One text a column.
    """
    spec = state.spec
    dates = [state.opened.utc[:10], *([state.signed_off.entry.utc[:10]] if state.signed_off else [])]
    notes = [spec.notes, *(text for _, text in state.notes), state.signed_off.words if state.signed_off else ""]
    parts = [spec.layout.name, *(f"{kind.name} {kind.label}" for kind in spec.kinds)]
    return (
        state.number,
        spec.title,
        spec.customer,
        spec.engine,
        spec.serial,
        " ".join(parts),
        "\n".join(note for note in notes if note),
        " ".join(dates),
    )

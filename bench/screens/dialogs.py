"""What each dialog asks, and how its answers become a command."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from pydantic import ValidationError

from bench.models.job import Cell, JobSpec, PartKind, label_of
from bench.models.job_state import JobState
from bench.screens.form_dialog import FormComplaintError, FormDialog, FormDoubtError, FormField
from bench.screens.path_dialog import PathDialog
from bench.screens.quantities import number_of
from bench.use_cases.commands import (
    Command,
    GoTo,
    SignOff,
    TypeRun,
    TypeWeight,
    WriteNote,
)
from bench.use_cases.typed_doubts import doubt_of_typed


def number(answers: Mapping[str, str], field: str, *, optional: bool = False) -> Decimal | None:
    """Return a typed number.

    Parameters
    ----------
    answers : Mapping[str, str]
        What was typed.
    field : str
        Which field.
    optional : bool
        Nothing typed is fine.

    Returns
    -------
    Decimal or None
        None when nothing was typed.
    """
    text = answers[field]
    return None if optional and not text else number_of(field, text)


def _needed(answers: Mapping[str, str], field: str) -> Decimal:
    value = number(answers, field)
    if value is None:
        raise FormComplaintError(field, "wanted a number")
    return value


def _cell(answers: Mapping[str, str], kinds: Sequence[PartKind]) -> Cell:
    """Return the cell that is meant: "whole rod 3" as the sheet says it, or "rod_whole 3" as files do."""
    typed = answers["cell"].casefold().replace(" of throw ", " ")
    kind, _, place = typed.rpartition(" ")
    kind = " ".join(kind.split())
    known = {words.casefold(): each.name for each in kinds for words in (each.label, each.name)}
    near = {name for words, name in known.items() if kind and words.startswith(kind)}
    name = known.get(kind) or (next(iter(near)) if len(near) == 1 else "")
    try:
        return Cell(kind=name, place=int(place))
    except (ValueError, ValidationError):
        labels = ", ".join(each.label for each in kinds)
        words = f"'{answers['cell']}' is no part of this job; wanted e.g. piston 3, one of: {labels}"
        raise FormComplaintError("cell", words) from None


def type_weight(spec: JobSpec, due: Cell | None, *, state: JobState | None = None) -> FormDialog:
    """Return the dialog for a weight that is typed.

    Parameters
    ----------
    spec : JobSpec
        For the kinds there are.
    due : Cell | None
        The cell that is due.
    state : JobState | None
        What was weighed so far: a number that does not fit it is asked about once.

    Returns
    -------
    FormDialog
        Gives a TypeWeight.
    """

    def read(answers: Mapping[str, str]) -> Command:
        cell, grams = _cell(answers, spec.kinds), _needed(answers, "grams")
        if not answers["reason"]:
            raise FormComplaintError("reason", "say in a few words why it is typed and not weighed")
        doubt = doubt_of_typed(state, cell, grams) if state is not None else ""
        if doubt and not answers.get(FormDialog.SURE):
            raise FormDoubtError("grams", (doubt,))
        return TypeWeight(cell, grams, answers["reason"])

    fields = (
        FormField("cell", "which part", label_of(spec, due) if due else ""),
        FormField("grams", "weight, in grams"),
        FormField("reason", "why it is typed"),
    )
    return FormDialog("Type a weight (it is marked as typed)", fields, read)


def go_to(state: JobState) -> FormDialog:
    """Return the dialog that makes another cell the next one.

    Parameters
    ----------
    state : JobState
        For the kinds there are.

    Returns
    -------
    FormDialog
        Gives a GoTo.
    """
    kinds = ", ".join(kind.label for kind in state.spec.kinds)
    return FormDialog(
        "Weigh another part next, or one again",
        (FormField("cell", f"which part, e.g. piston 3 ({kinds})"),),
        lambda answers: GoTo(_cell(answers, state.spec.kinds)),
    )


def type_run(planes: tuple[str, ...]) -> FormDialog:
    """Return the dialog for a run that is typed.

    Parameters
    ----------
    planes : tuple[str, ...]
        The job's planes.

    Returns
    -------
    FormDialog
        Gives a TypeRun.
    """

    def read(answers: Mapping[str, str]) -> Command:
        if not answers["reason"]:
            raise FormComplaintError("reason", "say in a few words why it is typed")
        rows = tuple((name, _needed(answers, f"{name}-grams"), _needed(answers, f"{name}-angle")) for name in planes)
        return TypeRun(rows, answers["reason"])

    fields = [
        field
        for name in planes
        for field in (
            FormField(f"{name}-grams", f"{name}: grams at the correction radius"),
            FormField(f"{name}-angle", f"{name}: angle of the heavy spot, degrees counter-clockwise from the front"),
        )
    ]
    return FormDialog("Type a run (it is marked as typed)", (*fields, FormField("reason", "why it is typed")), read)


def sign_off(missing: tuple[str, ...]) -> FormDialog:
    """Return the dialog that signs a job off.

    Parameters
    ----------
    missing : tuple[str, ...]
        What is still open.

    Returns
    -------
    FormDialog
        Gives a SignOff.
    """
    label = (
        f"still open: {'; '.join(missing)}. Why is it signed all the same?" if missing else "a word (may stay empty)"
    )
    return FormDialog(
        "Sign the job off",
        (
            FormField("deburred", "every hole deburred", tick=True),
            FormField("cleaned", "crank clean, no chip in an oil hole", tick=True),
            FormField("words", label),
        ),
        lambda a: SignOff(deburred=bool(a["deburred"]), cleaned=bool(a["cleaned"]), words=a["words"]),
    )


def note() -> FormDialog:
    """Return the dialog for a note.

    Returns
    -------
    FormDialog
        Gives a WriteNote.
    """
    return FormDialog("Write a note into the job", (FormField("text", "note"),), lambda a: WriteNote(a["text"]))


def sheet_file() -> PathDialog:
    """Return the dialog that asks for a sheet of weights.

    Returns
    -------
    PathDialog
        Gives a path.
    """
    return PathDialog("Bring weights in: which file (CSV or xlsx)? It is shown first, nothing is taken yet.")

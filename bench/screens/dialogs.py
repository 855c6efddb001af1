"""What each dialog asks, and how its answers become a command."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from pydantic import ValidationError

from bench.models.job import Cell, JobSpec, Tolerance
from bench.models.job_state import JobState
from bench.screens.form_dialog import FormComplaintError, FormDialog, FormField
from bench.use_cases.commands import (
    Command,
    CreateJob,
    GoTo,
    RecordCuts,
    SetInitials,
    SignOff,
    TypeRun,
    TypeWeight,
    WriteNote,
)
from bench.use_cases.demo_job import usual_kinds
from bench.use_cases.usual_layouts import LAYOUTS, planes_for
from bench.use_cases.view import CutLine, Proposal

LONGEST_NUMBER = 14


def number(answers: Mapping[str, str], field: str, *, optional: bool = False) -> Decimal | None:
    """Return a typed number; a comma is read as the decimal sign only where it can be nothing else.

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

    Raises
    ------
    FormComplaintError
        When it is no number, or could be two.
    """
    text = answers[field]
    if not text and optional:
        return None
    if text.count(",") == 1 and "." not in text:
        whole, part = text.split(",")
        if len(part) == 3 and len(whole.lstrip("+-")) <= 3:
            raise FormComplaintError(
                field, f"'{text}' can be read as {whole}{part} or as {whole}.{part}: type it with a point"
            )
        text = f"{whole}.{part}"
    try:
        value = Decimal(text) if text.isascii() and len(text) <= LONGEST_NUMBER else Decimal("NaN")
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite():
        raise FormComplaintError(field, f"'{answers[field]}' is no number; wanted digits, e.g. 603.7")
    return value


def _needed(answers: Mapping[str, str], field: str) -> Decimal:
    value = number(answers, field)
    if value is None:
        raise FormComplaintError(field, "wanted a number")
    return value


def _cell(answers: Mapping[str, str]) -> Cell:
    words = answers["cell"].split()
    try:
        kind, place = words
        return Cell(kind=kind, place=int(place))
    except (ValueError, ValidationError):
        raise FormComplaintError("cell", f"'{answers['cell']}' is no place; wanted e.g. piston 3") from None


def type_weight(due: Cell | None) -> FormDialog:
    """Return the dialog for a weight that is typed.

    Parameters
    ----------
    due : Cell | None
        The cell that is due.

    Returns
    -------
    FormDialog
        Gives a TypeWeight.
    """

    def read(answers: Mapping[str, str]) -> Command:
        cell, grams = _cell(answers), _needed(answers, "grams")
        if not answers["reason"]:
            raise FormComplaintError("reason", "say in a few words why it is typed and not weighed")
        return TypeWeight(cell, grams, answers["reason"])

    fields = (
        FormField("cell", "which part", str(due) if due else ""),
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
    kinds = ", ".join(kind.name for kind in state.spec.kinds)
    return FormDialog(
        "Weigh another part next, or one again",
        (FormField("cell", f"which part, e.g. piston 3 ({kinds})"),),
        lambda answers: GoTo(_cell(answers)),
    )


def edit_cuts(proposal: Proposal | None, planes: tuple[str, ...]) -> FormDialog:
    """Return the dialog for a cut that was made otherwise than proposed.

    Parameters
    ----------
    proposal : Proposal | None
        Fills the fields.
    planes : tuple[str, ...]
        The job's planes.

    Returns
    -------
    FormDialog
        Gives a RecordCuts with one cut.
    """
    first = proposal.cuts[0] if proposal and proposal.cuts else None

    def read(answers: Mapping[str, str]) -> Command:
        if answers["plane"] not in planes:
            raise FormComplaintError("plane", f"'{answers['plane']}' is no plane; wanted {' or '.join(planes)}")
        diameter, depth = number(answers, "diameter", optional=True), number(answers, "depth", optional=True)
        cut = CutLine(
            plane=answers["plane"],
            angle_deg=float(_needed(answers, "angle")),
            grams=float(_needed(answers, "grams")),
            diameter_mm=None if diameter is None else float(diameter),
            depth_mm=None if depth is None else float(depth),
        )
        return RecordCuts((cut,))

    return FormDialog(
        "Record a cut as it was really made",
        (
            FormField("plane", f"plane ({' or '.join(planes)})", first.plane if first else planes[0]),
            FormField("angle", "angle from the mark, degrees", f"{first.angle_deg:.1f}" if first else ""),
            FormField("grams", "grams taken off (minus: heavy metal put in)", f"{first.grams:.1f}" if first else ""),
            FormField("diameter", "drill, millimetres (may stay empty)"),
            FormField("depth", "depth, millimetres (may stay empty)"),
        ),
        read,
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


def initials(by: str) -> FormDialog:
    """Return the dialog that asks who is at the bench.

    Parameters
    ----------
    by : str
        Who it was.

    Returns
    -------
    FormDialog
        Gives a SetInitials.
    """
    return FormDialog("Who is at the bench?", (FormField("by", "initials", by),), lambda a: SetInitials(a["by"]))


def note() -> FormDialog:
    """Return the dialog for a note.

    Returns
    -------
    FormDialog
        Gives a WriteNote.
    """
    return FormDialog("Write a note into the job", (FormField("text", "note"),), lambda a: WriteNote(a["text"]))


def new_job() -> FormDialog:
    """Return the intake dialog.

    Returns
    -------
    FormDialog
        Gives a CreateJob.
    """

    def read(answers: Mapping[str, str]) -> Command:
        layout = LAYOUTS.get(answers["layout"])
        if layout is None:
            raise FormComplaintError(
                "layout", f"'{answers['layout']}' is not known; wanted one of {', '.join(LAYOUTS)}"
            )
        share, radius = _needed(answers, "share"), _needed(answers, "radius")
        if not 0 <= share <= 100:
            raise FormComplaintError("share", "wanted per cent from 0 to 100; 50 for a 90 degree V with two rods a pin")
        grade = number(answers, "grade", optional=True)
        values = {
            "shop_limit_g": float(_needed(answers, "limit")),
            "grade_mm_per_s": None if grade is None else float(grade),
        }
        mass, speed = number(answers, "mass", optional=True), number(answers, "speed", optional=True)
        try:
            return CreateJob(
                JobSpec(
                    title=answers["title"],
                    customer=answers["customer"],
                    engine=answers["engine"],
                    serial=answers["serial"],
                    layout=layout,
                    kinds=usual_kinds() if layout.throws else (),
                    reciprocating_share=float(share) / 100.0,
                    oil_g=float(_needed(answers, "oil")),
                    rotor_mass_kg=None if mass is None else float(mass),
                    speed_rpm=None if speed is None else float(speed),
                    planes=planes_for(layout, radius_mm=float(radius)),
                    tolerance=Tolerance.model_validate(values),
                )
            )
        except ValidationError as fault:
            first = fault.errors(include_url=False, include_input=False)[0]
            where = str(first["loc"][0]) if first["loc"] else "title"
            field = {"planes": "radius", "shop_limit_g": "limit", "grade_mm_per_s": "grade", "oil_g": "oil"}.get(
                where, where
            )
            known = {"title", "customer", "engine", "serial", "radius", "limit", "grade", "oil", "mass", "speed"}
            raise FormComplaintError(field if field in known else "title", f"{where}: {first['msg']}") from None

    return FormDialog(
        "A new job",
        (
            FormField("title", "what the job is called"),
            FormField("customer", "whose engine"),
            FormField("engine", "engine"),
            FormField("serial", "serial number"),
            FormField("layout", f"layout: {', '.join(LAYOUTS)}", "v8"),
            FormField("share", "share of the reciprocating weight that counts, per cent"),
            FormField("oil", "oil allowance a throw, grams (usually 4 to 6)"),
            FormField("radius", "correction radius, millimetres"),
            FormField("limit", "limit a plane, grams at that radius", "1.0"),
            FormField("grade", "balance quality grade G, if asked for, mm/s"),
            FormField("mass", "crankshaft's mass, kilograms (for the grade)"),
            FormField("speed", "highest speed, 1/min (for the grade)"),
        ),
        read,
    )

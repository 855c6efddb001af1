"""What is typed about the parts on a crank, and about the next rotor of a set."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from pydantic import ValidationError

from bench.models.job import CorrectionPlane, MountedPart, Stage, Tolerance
from bench.models.job_state import JobState
from bench.models.rotor_set import rotor_name, rotors_to_come
from bench.screens.form_dialog import FormComplaintError, FormDialog, FormField
from bench.screens.quantities import GRAMS, MILLIMETRES, amount, number_of
from bench.screens.spin_dialogs import LinesDialog
from bench.use_cases.commands import BeginRotor, Command, EnterParts, MountParts
from bench.use_cases.errors import RefusedError
from bench.use_cases.next_rotor import plane_name
from bench.use_cases.part_lines import FORM, part_from, part_line

PART_LINES = 4
_PART_HELP = (
    "At: middle of the part along the axis, mm from the front plane, in front of it negative. Carries: the unbalance "
    "it has on purpose. Heavy: where its heavy side is, degrees from the mark. Within: how far it may be off, per cent."
)
_MOUNTED_HELP = (
    "Tick what is really on the crank. A run without one of them is no verdict; it is shown with what the missing part "
    "nominally carries. Guard, mass and speed within what the machine's maker allows."
)
_ROTOR_HELP = {
    "on": "Arbor: it is spun alone. Crank: it is mounted on what is balanced, and metal goes from this part only.",
    "at": "Its middle along the axis, from the crank's front plane; in front of it negative.",
    "radius": "Where on the part an amount in grams counts.",
    "limit": "On an arbor in its own plane; on the crank in each of the crank's planes.",
    "mass": "On an arbor of the part, on the crank of all that turns; only the grade needs it.",
    "why": "What was balanced before is frozen; say here why it is left when it is not inside.",
}


def mounted(state: JobState) -> FormDialog:
    """Return the dialog that asks which of the job's parts are on the crank.

    Parameters
    ----------
    state : JobState
        Names the parts.

    Returns
    -------
    FormDialog
        Gives a MountParts.
    """
    names = [part.name for part in state.spec.mounted]
    now = state.mounted if state.mounted is not None else tuple(names)
    last = state.spins[-1] if state.spins else None

    def read(answers: Mapping[str, str]) -> Command:
        on = tuple(name for index, name in enumerate(names) if answers[f"part-{index}"])
        return MountParts(on, last_run=bool(answers.get("last", "")), reason=answers["reason"])

    fields = [
        FormField(f"part-{index}", name, "yes" if name in now else "", tick=True, help=_MOUNTED_HELP)
        for index, name in enumerate(names)
    ]
    if last is not None:
        unsaid = "yes" if last.mounted is None else ""
        words = f"it was so at run {last.number} as well"
        fields.append(FormField("last", words, unsaid, tick=True, help="Puts right what was recorded for that run."))
    fields.append(FormField("reason", "a word (may stay empty)", help="For example: flywheel not delivered yet."))
    return FormDialog("What is mounted on the crank now", fields, read)


def parts(state: JobState) -> FormDialog:
    """Return the dialog that asks which parts belong on the crank and what each carries: a line a part.

    Parameters
    ----------
    state : JobState
        For the parts there are.

    Returns
    -------
    FormDialog
        Gives an EnterParts.
    """
    lines = [part_line(part) for part in state.spec.mounted]
    lines += [""] * max(1, PART_LINES - len(lines))

    def read(answers: Mapping[str, str]) -> Command:
        told: list[MountedPart] = []
        for index in range(len(lines)):
            text = answers[f"part-{index}"]
            if not text:
                continue
            try:
                told.append(part_from(text))
            except RefusedError as fault:
                raise FormComplaintError(f"part-{index}", str(fault)) from None
        if not answers["reason"]:
            raise FormComplaintError("reason", "say in a few words where these figures are from; it is kept with who")
        return EnterParts(tuple(told), answers["reason"])

    fields = [FormField(f"part-{i}", f"part {i + 1}", text, help=_PART_HELP) for i, text in enumerate(lines)]
    fields.append(FormField("reason", "from where", help="For example: the engine maker's sheet, weighed here."))
    return LinesDialog(f"What belongs on the crank while it spins: {FORM}", fields, read)


def next_rotor(state: JobState) -> FormDialog:
    """Return the dialog that begins the next rotor of the set, filled with the one that was planned.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    FormDialog
        Gives a BeginRotor.
    """
    to_come = rotors_to_come(state)
    planned = to_come[0] if to_come else None
    plane = planned.planes[0] if planned is not None else None
    limit = planned.tolerance.shop_limit_g if planned is not None else state.spec.tolerance.shop_limit_g
    mass, speed = (planned.rotor_mass_kg, planned.speed_rpm) if planned is not None else (None, None)

    def read(answers: Mapping[str, str]) -> Command:
        rotor = _rotor(answers, planned, state)
        return BeginRotor(rotor, answers["why"])

    fields = (
        FormField("name", "next part", planned.name if planned else "flywheel"),
        FormField(
            "on",
            "how it is spun",
            planned.on if planned else "arbor",
            choices=(("arbor", "alone, on an arbor"), ("crank", "mounted on the balanced crank")),
            help=_ROTOR_HELP["on"],
        ),
        FormField("at", "along the axis [mm]", _shown(plane.position_mm if plane else None), help=_ROTOR_HELP["at"]),
        FormField(
            "radius", "correction radius [mm]", _shown(plane.radius_mm if plane else None), help=_ROTOR_HELP["radius"]
        ),
        FormField("limit", "limit at that radius [g]", _shown(limit), help=_ROTOR_HELP["limit"]),
        FormField(
            "grade",
            "balance quality grade G [mm/s]",
            _shown(planned.tolerance.grade_mm_per_s if planned else None),
            help="Only where a grade of ISO 21940-11 is asked for; may stay empty.",
        ),
        FormField("mass", "rotor's mass [kg]", _shown(mass), help=_ROTOR_HELP["mass"]),
        FormField("speed", "highest speed [1/min]", _shown(speed or state.spec.speed_rpm)),
        FormField("why", f"why {rotor_name(state)} is left, if not inside", help=_ROTOR_HELP["why"]),
    )
    return FormDialog("The next rotor of the set; what was balanced before is frozen", fields, read)


def _rotor(answers: Mapping[str, str], planned: Stage | None, state: JobState) -> Stage:
    if not answers["name"]:
        raise FormComplaintError("name", "wanted what the part is called, e.g. flywheel")
    if not answers["at"]:
        raise FormComplaintError(
            "at", "wanted mm from the crank's front plane: it says what the part does to the crank"
        )
    position = float(number_of("at", answers["at"]))
    radius = amount(answers, "radius", MILLIMETRES, usual="mm") or 0.0
    limit = amount(answers, "limit", GRAMS, usual="g", optional=True)
    plain = {"": 1.0}
    band = state.spec.tolerance
    on: Literal["arbor", "crank"] = "crank" if answers["on"] == "crank" else "arbor"
    planes = planned.planes if planned is not None else (CorrectionPlane(name="front", radius_mm=90.0),)
    named = plane_name(answers["name"], on=on, planned=planes[0].name)
    try:
        first = CorrectionPlane.model_validate(
            planes[0].model_dump() | {"name": named, "position_mm": position, "radius_mm": radius}
        )
        return Stage(
            name=answers["name"],
            on=on,
            planes=(first, *planes[1:]),
            tolerance=Tolerance(
                shop_limit_g=limit,
                grade_mm_per_s=amount(answers, "grade", plain, usual="", optional=True),
                bobweight_g=band.bobweight_g,
                spin_uncertainty_g=planned.tolerance.spin_uncertainty_g if planned else band.spin_uncertainty_g,
            ),
            rotor_mass_kg=amount(answers, "mass", {"": 1.0, "kg": 1.0}, usual="", optional=True),
            speed_rpm=amount(answers, "speed", {"": 1.0, "rpm": 1.0}, usual="", optional=True),
        )
    except ValidationError as fault:
        error = fault.errors(include_url=False, include_input=False)[0]
        where = str(error["loc"][-1]) if error["loc"] else "limit"
        field = {"radius_mm": "radius", "rotor_mass_kg": "mass", "speed_rpm": "speed", "name": "name"}.get(
            where, "limit"
        )
        raise FormComplaintError(field, str(error["msg"]).removeprefix("Value error, ")) from None


def _shown(value: float | None) -> str:
    return "" if value is None else f"{value:g}"

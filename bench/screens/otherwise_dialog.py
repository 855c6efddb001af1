"""The dialog for what is weighed beside the sheet, and for the order of the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation

from bench.screens.form_dialog import FormComplaintError, FormDialog, FormField
from bench.use_cases.commands import CheckAssembly, CheckScale, Command, NoteTemperature, SetRoute
from bench.use_cases.due import Route

WANTED = "check 500, whole 3, route cylinder, route kind or temperature 21.5"


def weigh_otherwise() -> FormDialog:
    """Return the dialog; it understands the same words as plain lines do.

    Returns
    -------
    FormDialog
        Gives a CheckScale, CheckAssembly, SetRoute or NoteTemperature.
    """
    return FormDialog(
        "Check the scale (check 500), all parts of a cylinder at once (whole 3), or change the order (route cylinder)",
        (FormField("what", f"what: {WANTED}", "check 500"),),
        otherwise_command,
    )


def otherwise_command(answers: Mapping[str, str]) -> Command:
    """Return the command that the answer means.

    Parameters
    ----------
    answers : Mapping[str, str]
        The line, by the field's name.

    Returns
    -------
    Command
        One of those of the dialog.

    Raises
    ------
    FormComplaintError
        When nobody knows what is meant.
    """
    try:
        match answers["what"].split():
            case ["check", grams]:
                return CheckScale(Decimal(grams))
            case ["check", grams, weight_class]:
                return CheckScale(Decimal(grams), weight_class)
            case ["whole", cylinder]:
                return CheckAssembly(int(cylinder))
            case ["route", route]:
                return SetRoute(Route(route))
            case ["temperature", celsius]:
                return NoteTemperature(float(Decimal(celsius.replace(",", "."))))
            case _:
                pass
    except (ValueError, InvalidOperation):
        pass
    raise FormComplaintError("what", f"'{answers['what']}' is none of these; wanted e.g. {WANTED}")

"""What is typed about runs that are not the rotor's own: the set turned, a known mass fastened."""

from __future__ import annotations

from collections.abc import Mapping

from bench.models.job_state import JobState
from bench.screens.form_dialog import FormComplaintError, FormDialog, FormField
from bench.screens.quantities import number_of
from bench.use_cases.commands import CheckMachine, Command, MarkIndexRun

_TURN_HELP = (
    "Spin with the set where it belongs, turn every bobweight by half a turn against the crank, spin again without a "
    "cut between. What stays is the rotor's, what turns is the set's; it is taken off every run from then on."
)
_MASS_HELP = (
    "Spin without the mass, then with it at each angle, in one plane and at the correction radius, no cut between. A "
    "mass that shows some ten grams tells best."
)


def index_run() -> FormDialog:
    """Return the dialog that says how far the set was turned for the last run.

    Returns
    -------
    FormDialog
        Gives a MarkIndexRun.
    """

    def read(answers: Mapping[str, str]) -> Command:
        return MarkIndexRun(float(number_of("turned", answers["turned"])))

    fields = (FormField("turned", "turned by, degrees", "180", help=_TURN_HELP),)
    return FormDialog("The last run was made with the bobweight set turned", fields, read)


def machine_check(state: JobState) -> FormDialog:
    """Return the dialog that checks with a known mass what the machine's angles mean.

    Parameters
    ----------
    state : JobState
        For its planes.

    Returns
    -------
    FormDialog
        Gives a CheckMachine.
    """
    planes = tuple(plane.name for plane in state.spec.planes)

    def read(answers: Mapping[str, str]) -> Command:
        grams = float(number_of("mass", answers["mass"]))
        angles = tuple(float(number_of("angles", word)) for word in answers["angles"].replace("°", " ").split())
        if len(angles) < 2:
            raise FormComplaintError("angles", "wanted two angles or more, for example 0 90")
        return CheckMachine(answers["plane"], grams, angles)

    fields = (
        FormField("mass", "mass, grams at the correction radius", "10", help=_MASS_HELP),
        FormField("plane", "fastened in", planes[0], choices=tuple((name, name) for name in planes), help=_MASS_HELP),
        FormField("angles", "at, degrees from the mark, a run each", "0 90", help=_MASS_HELP),
    )
    return FormDialog(
        "Check the angles: the last runs are one without the mass, then one with it at each", fields, read
    )

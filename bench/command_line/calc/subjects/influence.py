"""`calc influence`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, VectorValue, vector_values
from bench.computation.influence import MOST_PLANES, TrialRun, influence_answer


class Trial(CalcValue):
    """A run with a trial weight."""

    plane: Annotated[int, Field(ge=0)]
    added: VectorValue
    readings: tuple[VectorValue, ...]


class Asked(CalcValue):
    """Initial readings and trial runs, in the order they were made."""

    initial: Annotated[tuple[VectorValue, ...], Field(min_length=1, max_length=MOST_PLANES)]
    trials: Annotated[tuple[Trial, ...], Field(min_length=1, max_length=MOST_PLANES)]
    trial_weights_left_on: bool = False


class Answered(CalcValue):
    """Influence, sensor by plane, and what to add or remove on the rotor as it stands after the last run."""

    influence: tuple[tuple[VectorValue, ...], ...]
    add: tuple[VectorValue, ...]
    remove: tuple[VectorValue, ...]
    add_to_initial: tuple[VectorValue, ...]
    predicted: tuple[VectorValue, ...]
    condition: float


def answer(asked: Asked) -> Answered:
    """Return what the trial runs teach.

    Parameters
    ----------
    asked : Asked
        The runs.

    Returns
    -------
    Answered
        Influence and correction.
    """
    found = influence_answer(
        [reading.vector for reading in asked.initial],
        [
            TrialRun(trial.plane, trial.added.vector, tuple(reading.vector for reading in trial.readings))
            for trial in asked.trials
        ],
        trial_weights_left_on=asked.trial_weights_left_on,
    )
    return Answered(
        influence=tuple(vector_values(row) for row in found.influence),
        add=vector_values(found.add),
        remove=vector_values(tuple(vector.turned(180.0) for vector in found.add)),
        add_to_initial=vector_values(found.add_to_initial),
        predicted=vector_values(found.predicted),
        condition=found.condition,
    )


SUBJECT = Subject(
    words="trial weight runs: how the rotor answers and what to add",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"initial": [{"amount": 6.0, "angle_deg": 40}],
 "trials": [{"plane": 0, "added": {"amount": 5.0, "angle_deg": 0},
             "readings": [{"amount": 8.0, "angle_deg": 100}]}]}""",
    example_answer="""\
{"influence": [[{"amount": 1.4422205101855956, "angle_deg": 146.102113751986}]],
 "add": [{"amount": 4.160251471689219, "angle_deg": 73.89788624801399}],
 "remove": [{"amount": 4.160251471689219, "angle_deg": 253.897886248014}],
 "add_to_initial": [{"amount": 4.160251471689219, "angle_deg": 73.89788624801399}],
 "predicted": [{"amount": 8.881784197001252e-16, "angle_deg": 180.0}], "condition": 1.0}""",
)

"""The part of every reading that belongs to the bobweight set or the fixture, not to the rotor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bench.computation.answer_model import AnswerModel
from bench.computation.errors import QuantityError
from bench.computation.index_balancing import index_parts
from bench.computation.vectors import Vector


def without_tooling(
    model: AnswerModel, readings: Sequence[Sequence[complex]], *, index_deg: Sequence[float]
) -> AnswerModel:
    """Return the model with the tooling's part taken out of the readings.

    Parameters
    ----------
    model : AnswerModel
        What is known, without cuts that wait for their run.
    readings : Sequence[Sequence[complex]]
        Runs with the tooling turned against the rotor, each one value a plane; the first is the run that was taken
        in last. [g]
    index_deg : Sequence[float]
        How far the tooling was turned for each; usually 0 and 180. [deg]

    Returns
    -------
    AnswerModel
        What is left is the rotor's alone; readings that follow, with the tooling at index 0, are freed from it.

    Raises
    ------
    QuantityError
        If cuts wait for their run, a run has another number of planes, or the turns cannot tell the parts apart.

    Notes
    -----
    Source: ISO 21940-14, index balancing.
    """
    if model.pending:
        raise QuantityError("model", found="cuts without their run", wanted="index runs without a cut between them")
    for reading in readings:
        model.freed(reading)  # refuses what cannot be
    # the runs are as shown, with all of the tooling in them, whatever part of it was known before
    found = tuple(
        index_parts([Vector.of(complex(run[p])) for run in readings], index_deg=index_deg).tooling.as_complex
        for p in range(model.planes)
    )
    left = model.left.copy()
    for p, part in enumerate(found):
        left[p] += model.tooling[p] - part
    return replace(model, left=left, tooling=found)

"""Check the scale with a known weight: at the start of a job and when it is due again."""

from __future__ import annotations

from decimal import Decimal

from bench.capture.decisions import Expected, Taken
from bench.computation.errors import QuantityError
from bench.computation.scale_check import ScaleCheck, ScaleClass, scale_check
from bench.trail.events import AnyPayload, ScaleChecked, TemperatureNoted
from bench.use_cases.aside import Aside, Outcome
from bench.use_cases.check_reminders import temperature_now
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Instruction
from bench.use_cases.weigh_rules import WeighRules

KEY = "scale check"
USUAL_CLASS = "M1"
SCALE_CLASS = ScaleClass.II
TRIAL_DIVISION_G = 0.1


def check_scale(
    scribe: Scribe, *, nominal_g: Decimal, weight_class: str = USUAL_CLASS, rules: WeighRules | None = None
) -> Aside:
    """Return the weighing that checks the scale.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    nominal_g : Decimal
        What is written on the weight. [g]
    weight_class : str
        Its class by OIML R 111-1.
    rules : WeighRules | None
        What is set; a temperature of a thermometer is noted with the check.

    Returns
    -------
    Aside
        To be handed to the weigh station.

    Raises
    ------
    RefusedError
        When no job is open, or there is no such weight or class.
    """
    if scribe.state is None:
        raise RefusedError("scale check", found="no job is open")
    try:
        _verdict(nominal_g, nominal_g, weight_class, TRIAL_DIVISION_G)
    except QuantityError as fault:
        raise RefusedError("scale check", found=str(fault)) from fault

    def record(taken: Taken) -> Outcome:
        division = float(Decimal(1).scaleb(int(taken.grams.as_tuple().exponent)))
        check = _verdict(taken.grams, nominal_g, weight_class, division)
        payloads: list[AnyPayload] = [
            ScaleChecked(nominal_g=nominal_g, shown_g=taken.grams, allowed_g=check.allowed_g, passed=check.passed)
        ]
        state = scribe.state
        warm = temperature_now(state, rules) if state is not None and rules is not None else None
        known = state.temperatures[-1][1] if state is not None and state.temperatures else None
        if warm is not None and warm != known:  # what the check holds for stands before it
            payloads.insert(0, TemperatureNoted(celsius=warm))
        event = scribe.record(payloads, raw=taken.raw)[-1]
        words = f"scale check: {taken.grams} g for {nominal_g} g, allowed ±{check.allowed_g:g} g"
        if not check.passed:
            remedy = (
                "let it warm up, level it, have it adjusted; weigh again what was weighed since the last good check"
            )
            return Outcome(f"{words}: the scale is wrong (entry {event.seq}). {remedy}", good=False)
        fit = "" if check.weight_fit else "; the weight's own class is too coarse to judge this scale by"
        return Outcome(f"{words}: good (entry {event.seq}){fit}", good=True)

    nominal = float(nominal_g)
    due = Expected(key=KEY, kind="known weight", label=f"known weight of {nominal_g} g", nominal_g=nominal)
    where = "In the middle of the pan. It is taken like a part, and the sheet stays as it is."
    return Aside(due, Instruction(f"Lay the known weight of {nominal_g} g", where), record)


def _verdict(shown_g: Decimal, nominal_g: Decimal, weight_class: str, division_g: float) -> ScaleCheck:
    return scale_check(
        shown_g=float(shown_g),
        nominal_g=float(nominal_g),
        weight_class=weight_class,
        division_g=division_g,
        scale_class=SCALE_CLASS,
    )

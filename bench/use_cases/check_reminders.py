"""When the scale should be checked again: not checked yet, out, too long ago, warmer or colder, zero wandered."""

from __future__ import annotations

from datetime import datetime

from bench.capture.decisions import Live, Phase
from bench.capture.units import GRAMS, division_of
from bench.models.job_state import JobState
from bench.use_cases.weigh_rules import WeighRules

KEY_DIVISIONS = 20.0
DO = "put a known weight on, then 6 or: check 500"


def temperature_now(state: JobState, rules: WeighRules) -> float | None:
    """Return how warm it is at the scale.

    Parameters
    ----------
    state : JobState
        The job.
    rules : WeighRules
        What is set.

    Returns
    -------
    float or None
        What was typed last in this job since the scale was checked, else what is set; None when nobody said. [°C]
    """
    checked = state.scale_checks[-1].entry.seq if state.scale_checks else 0
    typed = [celsius for entry, celsius in state.temperatures if entry.seq > checked]
    return typed[-1] if typed else rules.temperature_c


def temperature_at_check(state: JobState) -> float | None:
    """Return how warm it was when the scale was checked last.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    float or None
        The last that was noted before; None when nothing was. [°C]
    """
    if not state.scale_checks:
        return None
    checked = state.scale_checks[-1].entry.seq
    return next((celsius for entry, celsius in reversed(state.temperatures) if entry.seq < checked), None)


def check_is_due(state: JobState, rules: WeighRules) -> str:
    """Return why the scale should be checked now.

    Parameters
    ----------
    state : JobState
        The job.
    rules : WeighRules
        What is set.

    Returns
    -------
    str
        One sentence; empty when it is not due.
    """
    if not state.scale_checks:
        return f"the scale is not checked yet: {DO}"
    if not state.scale_checks[-1].passed:
        return "the last check of the scale failed: put it right, then 6 or: check 500"
    hours = (rules.utc_now() - datetime.fromisoformat(state.scale_checks[-1].entry.utc)).total_seconds() / 3600.0
    if 0.0 < rules.check_after_h <= hours:
        ago = f"{hours:.0f} hours" if hours < 48 else f"{hours / 24:.0f} days"
        return f"the scale was checked {ago} ago, a check is good for {rules.check_after_h:g} h here: {DO}"
    before, now = temperature_at_check(state), temperature_now(state, rules)
    if before is not None and now is not None and 0.0 < rules.check_after_degrees <= abs(now - before):
        than = "warmer" if now > before else "colder"
        figures = f"{before:.1f} °C, now {now:.1f} °C"
        return f"it is {abs(now - before):.1f} °C {than} than when the scale was checked ({figures}): {DO}"
    return ""


class ZeroWander:
    """How far the empty pan has wandered since the scale was checked, or since the program began.

    Keys pressed on the scale, fixtures and clips move it by a jump, and are no wandering.
    """

    def __init__(self) -> None:
        self._begun_g: float | None = None
        self._last_g = 0.0
        self._told = False

    def begin(self) -> None:
        """Begin anew: the scale was checked."""
        self._begun_g = None
        self._told = False

    def see(self, live: Live, rules: WeighRules) -> str:
        """Take what the scale shows.

        Parameters
        ----------
        live : Live
            A reading.
        rules : WeighRules
            What is set.

        Returns
        -------
        str
            One sentence, once, when it has wandered too far; else empty.
        """
        if live.phase is not Phase.EMPTY or live.net_g is None or live.shown is None or live.unit not in GRAMS:
            return ""
        division_g = float(division_of(live.shown) * GRAMS[live.unit])
        zero_g = float(live.shown * GRAMS[live.unit]) - live.net_g
        if self._begun_g is None:
            self._begun_g = self._last_g = zero_g
        step, self._last_g = zero_g - self._last_g, zero_g
        if abs(step) > KEY_DIVISIONS * division_g:
            self._begun_g += step
        off = zero_g - self._begun_g
        if self._told or not 0.0 < rules.check_after_divisions * division_g <= abs(off):
            return ""
        self._told = True
        return (
            f"the empty pan has wandered by {off:+.2f} g since the scale was checked, or the program began: "
            f"let it warm up, keep it out of the draught, and {DO}"
        )

"""Put right what intake asked: a new entry with who and why; the old words stay in the trail."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic import ValidationError

from bench.models.job import JobSpec
from bench.trail.events import Event, JobAmended
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe

AMENDABLE = frozenset(
    {"title", "customer", "engine", "serial", "notes", "rotor_mass_kg", "speed_rpm", "balance", "tolerance"}
    | {"reciprocating_share", "oil_g", "mounted", "stages"}
)
"""What the numbers already taken do not hang on; layout, kinds and planes need a job of their own."""


def amend_job(
    scribe: Scribe,
    changes: dict[str, Any],
    *,
    reason: str,
    look: Callable[[JobSpec, JobSpec], None] = lambda _before, _after: None,
) -> Event:
    """Record a change of what intake asked.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    changes : dict[str, Any]
        New values by name; inside "tolerance" only what changes.
    reason : str
        Why.
    look : Callable[[JobSpec, JobSpec], None]
        Is shown the job as it was and as it would be, and raises what it does not agree to.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When no job is open, it is signed off, nobody is named, no reason is given, nothing changes, or a value cannot
        be.
    """
    state = scribe.state
    if state is None:
        raise RefusedError("amend", found="no job is open")
    where = f"amend job {state.number}"
    if state.signed_off is not None:
        raise RefusedError(where, found="it is signed off", do="open it again first, with a reason")
    if not scribe.by.strip():
        raise RefusedError(where, found="nobody is named", wanted="initials of who amends", do="give --by")
    if not reason.strip():
        raise RefusedError(where, found="no reason given", wanted="a few words why")
    fixed = sorted(set(changes) - AMENDABLE)
    if fixed:
        raise RefusedError(
            where, found=f"{fixed[0]} to be changed", wanted=", ".join(sorted(AMENDABLE)), do="open a new job"
        )
    spec = _changed(state.spec, changes, where)
    told = tuple(sorted(name for name in changes if getattr(spec, name) != getattr(state.spec, name)))
    if not told:
        raise RefusedError(where, found="nothing that differs from what is recorded")
    look(state.spec, spec)
    return scribe.record([JobAmended(spec=spec, changed=told, reason=reason.strip()[:200])], how="typed")[0]


def _changed(spec: JobSpec, changes: dict[str, Any], where: str) -> JobSpec:
    values = spec.model_dump()
    for name, value in changes.items():
        values[name] = {**values[name], **value} if isinstance(value, dict) else value
    try:
        return JobSpec.model_validate(values)
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False, include_context=False)[0]
        field = ".".join(str(part) for part in first["loc"]) or "the job"
        raise RefusedError(f"{where}: {field}", found=str(first["msg"])) from fault

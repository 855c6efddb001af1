"""The next rotor of a set: what was balanced before is frozen, the part that comes has its own runs and verdict."""

from __future__ import annotations

from pydantic import ValidationError

from bench.computation.unbalance import PlaneVerdict
from bench.models.job import JobSpec, Stage
from bench.models.rotor_set import name_of, rotor_name, rotors_to_come, spec_for
from bench.trail.events import Event
from bench.trail.spin_events import RotorBegun
from bench.use_cases.amend_job import amend_job
from bench.use_cases.errors import RefusedError
from bench.use_cases.review_job import review_job
from bench.use_cases.rotor_lines import rotors_open
from bench.use_cases.scribe import Scribe
from bench.use_cases.sign_off import what_is_missing


def plane_name(part: str, *, on: str, planned: str = "") -> str:
    """Return how the plane of a part is called.

    Parameters
    ----------
    part : str
        The part's name.
    on : str
        "arbor" or "crank".
    planned : str
        What it was called in the plan; empty where it was not planned.

    Returns
    -------
    str
        On an arbor as the machine's text calls its one plane, "front"; on the crank the part's own name, so that it
        is not taken for a plane of the crank.
    """
    if on == "arbor":
        return planned or "front"
    return planned if planned not in {"", "front", "rear"} else part[:40]


def begin_rotor(scribe: Scribe, rotor: Stage, *, words: str = "") -> Event:
    """Record that the next rotor of the set is balanced from here on.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    rotor : Stage
        The part, how it is spun, where its metal goes, what counts as done.
    words : str
        Why the present one is left when it is not inside.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When no job is open, it is signed off, the rotor was begun before or cannot be, or the present one is not
        inside and no word says why it is left.
    """
    state = scribe.state
    if state is None:
        raise RefusedError("next rotor", found="no job is open", do="open the job first")
    where = f"next rotor {rotor.name}"
    if state.signed_off is not None:
        raise RefusedError(where, found="the job is signed off", do="open it again first, with a reason")
    begun = {name_of(done.stage, done.spec) for done in state.rotors_done} | {rotor_name(state)}
    if rotor.name in begun:
        raise RefusedError(where, found="one of this name was begun before", wanted="another name")
    review = review_job(state)
    missing = tuple(m for m in what_is_missing(review) if m not in rotors_open(state))
    if missing and not words.strip():
        raise RefusedError(
            where,
            found=f"{rotor_name(state)}: {'; '.join(missing)}",
            do="finish it first, or write why it is left as it is: it is frozen when the next one begins",
        )
    try:
        JobSpec.model_validate(spec_for(state, rotor).model_dump())
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False, include_context=False)[0]
        raise RefusedError(where, found=str(first["msg"]).removeprefix("Value error, ")) from fault
    inside = review.whole_verdict is PlaneVerdict.INSIDE and not missing
    return scribe.record([RotorBegun(rotor=rotor, inside=inside, words=words.strip()[:200])], how="typed")[0]


def drop_rotor(scribe: Scribe, name: str, *, reason: str) -> Event:
    """Record that a rotor of the set that was planned does not come.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    name : str
        Which rotor.
    reason : str
        Why, kept with who.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When no job is open, no such rotor is to come, or the change is refused as any other of intake.
    """
    state = scribe.state
    if state is None:
        raise RefusedError(f"rotor {name}", found="no job is open", do="open the job first")
    to_come = [stage.name for stage in rotors_to_come(state)]
    if name not in to_come:
        wanted = " or ".join(to_come) or "a rotor that was planned and is not begun"
        raise RefusedError(f"rotor {name}", found="not to come", wanted=wanted)
    left = tuple(stage for stage in state.spec.stages if stage.name != name)
    return amend_job(scribe, {"stages": left}, reason=reason)

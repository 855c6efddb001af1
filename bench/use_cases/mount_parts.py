"""What is mounted on an externally balanced crank while it is spun, and what each part carries."""

from __future__ import annotations

from collections.abc import Sequence

from bench.models.job import MountedPart
from bench.models.job_state import JobState
from bench.models.on_crank import in_planes_words, part_words
from bench.trail.events import Event
from bench.trail.spin_events import PartsMounted
from bench.use_cases.amend_job import amend_job
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe


def enter_parts(scribe: Scribe, parts: Sequence[MountedPart], *, reason: str) -> Event:
    """Record which parts belong on the crank while it is spun and what each carries; the job is balanced externally.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    parts : Sequence[MountedPart]
        All of them; none makes the balance internal again.
    reason : str
        Why, kept with who.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When another rotor of the set is on an arbor now, or the change is refused as any other of intake.
    """
    state = scribe.state
    if state is not None and state.stage is not None and state.stage.on == "arbor":
        raise RefusedError(
            "parts on the crank",
            found=f"{state.stage.name} is on an arbor now",
            do="what belongs on the crank is entered before the next rotor is begun",
        )
    changes = {"mounted": tuple(parts), "balance": "external" if parts else "internal"}
    return amend_job(scribe, changes, reason=reason)


def mount_parts(scribe: Scribe, mounted: Sequence[str], *, last_run: bool = False, reason: str = "") -> list[Event]:
    """Record which of the job's parts are on the crank.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    mounted : Sequence[str]
        Names of the parts; none when it is bare.
    last_run : bool
        It was so at the last run as well.
    reason : str
        A word why, for example "flywheel not delivered yet".

    Returns
    -------
    list[Event]
        One, or two with the last run.

    Raises
    ------
    RefusedError
        When no part belongs on the crank, a name is none of them, there is no run, or the job is signed off.
    """
    state = scribe.state
    what = "what is mounted"
    if state is None:
        raise RefusedError(what, found="no job is open", do="open the job first")
    if state.signed_off is not None:
        raise RefusedError(what, found="the job is signed off", do="open it again first, with a reason")
    known = [part.name for part in state.spec.mounted]
    if not known:
        raise RefusedError(
            what,
            found="this job names no part that belongs on the crank",
            do="enter the parts and what they carry (key -, or `spinledger job parts`)",
        )
    strange = [name for name in mounted if name not in known]
    if strange:
        raise RefusedError(what, found=f"'{strange[0]}'", wanted=" or ".join(known))
    named = tuple(name for name in known if name in mounted)
    payloads = [PartsMounted(mounted=named, reason=reason.strip()[:200])]
    if last_run:
        if not state.spins:
            raise RefusedError(what, found="no run yet", do="say it for the runs to come")
        payloads.append(PartsMounted(mounted=named, spin=state.spins[-1].entry.event_id, reason=reason.strip()[:200]))
    return scribe.record(payloads, how="typed")


def mounted_now_words(state: JobState) -> str:
    """Return what is mounted now, and what a run would be worth.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        Empty where no part belongs on the crank.
    """
    parts = state.spec.mounted
    if not parts:
        return ""
    if state.mounted is None:
        return "nobody said what is mounted"
    off = [part.name for part in parts if part.name not in state.mounted]
    on = ", ".join(name for name in state.mounted) or "nothing"
    return f"mounted: {on}" + (f"; without {', '.join(off)} a run is no verdict" if off else "")


def parts_words(state: JobState) -> tuple[str, ...]:
    """Return every part that belongs on the crank, what it carries, and what that is in the planes.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[str, ...]
        A sentence each.
    """
    words: list[str] = []
    for part in state.spec.mounted:
        planes = in_planes_words(state.spec, (part,))
        words.append(part_words(part) + (f" = {planes}" if planes else ""))
    return tuple(words)

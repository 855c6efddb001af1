"""What is said where the work can hurt someone."""

from __future__ import annotations

from bench.models.job_state import JobState
from bench.use_cases.view import Doing

BEFORE_SPIN = (
    "Bobweights tight, none loose; tools off the machine.",
    "Guard closed, nobody in the plane of rotation.",
    "Speed within the limits of the machine and of the bobweights.",
)
BEFORE_SPIN_WITH_PARTS = (
    "Tight on their own bolts: {parts}, bobweights; tools off.",
    "Guard closed and made for this mass; nobody in the plane of rotation.",
    "Rotating mass and overhang within what the machine's maker allows.",
    "Speed within the limits of machine, bobweights and every mounted part.",
)
BEFORE_SPIN_ON_ARBOR = (
    "Part seated and tight on its arbor; tools off the machine.",
    "Guard closed, nobody in the plane of rotation.",
    "Speed within the limits of the machine, the arbor and the part.",
)
BEFORE_DRILLING = (
    "Eye protection on; keep clear of the chips.",
    "Crankshaft clamped, drill square to the counterweight.",
    "Depth: maker's or machinist's limit; stay off edges, oil holes and fillets.",
)
BEFORE_DRILLING_A_PART = (
    "Eye protection on; keep clear of the chips.",
    "Part clamped; only where its maker allows, never near bolt holes or the rim's edge.",
    "Depth: maker's or machinist's limit; a weakened flywheel can burst.",
)
ON_CERTIFICATE = (
    "This result is of this machine and these weights. The engine maker's limits, local rules and the judgement "
    "of a qualified person come first."
)


def cautions_for(doing: Doing, state: JobState | None = None) -> tuple[str, ...]:
    """Return what is said before a thing is done.

    Parameters
    ----------
    doing : Doing
        What the bench waits for.
    state : JobState | None
        The job; what is mounted or on the arbor changes what is said.

    Returns
    -------
    tuple[str, ...]
        A line each; empty where nothing can hurt.
    """
    stage = state.stage if state is not None else None
    no_crank = state is not None and stage is None and not (state.spec.layout.throws or state.spec.mounted)
    if doing is Doing.CUT:
        return BEFORE_DRILLING if stage is None and not no_crank else BEFORE_DRILLING_A_PART
    if doing is not Doing.SPIN:
        return ()
    if no_crank or (stage is not None and stage.on == "arbor"):
        return BEFORE_SPIN_ON_ARBOR
    parts = _parts_turning(state) if state is not None else ()
    if not parts:
        return BEFORE_SPIN
    return tuple(words.format(parts=", ".join(parts)) for words in BEFORE_SPIN_WITH_PARTS)


def _parts_turning(state: JobState) -> tuple[str, ...]:
    """Return the parts that turn with the crank; those that belong there while nobody said."""
    names = [part.name for part in state.spec.mounted]
    turning = names if state.mounted is None else [name for name in names if name in state.mounted]
    return (*turning, state.stage.name) if state.stage is not None else tuple(turning)

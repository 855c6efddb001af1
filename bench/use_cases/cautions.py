"""What is said where the work can hurt someone."""

from __future__ import annotations

from bench.use_cases.view import Doing

BEFORE_SPIN = (
    "Bobweights tight, none loose; tools off the machine.",
    "Guard closed, nobody in the plane of rotation.",
    "Speed within the limits of the machine and of the bobweights.",
)
BEFORE_DRILLING = (
    "Eye protection on; keep clear of the chips.",
    "Crankshaft clamped, drill square to the counterweight.",
    "Depth: maker's or machinist's limit; stay off edges, oil holes and fillets.",
)
ON_CERTIFICATE = (
    "This result is of this machine and these weights. The engine maker's limits, local rules and the judgement "
    "of a qualified person come first."
)


def cautions_for(doing: Doing) -> tuple[str, ...]:
    """Return what is said before a thing is done.

    Parameters
    ----------
    doing : Doing
        What the bench waits for.

    Returns
    -------
    tuple[str, ...]
        A line each; empty where nothing can hurt.
    """
    if doing is Doing.SPIN:
        return BEFORE_SPIN
    return BEFORE_DRILLING if doing is Doing.CUT else ()

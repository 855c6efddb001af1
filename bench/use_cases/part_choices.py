"""Which parts a job weighs: sets to choose from at intake."""

from __future__ import annotations

from typing import Final

from bench.models.job import PartKind, PartRole
from bench.use_cases.demo_job import usual_kinds

USUAL, BOTH_ENDS, NOTHING = "usual", "both-ends", "nothing"
CHOICES: Final = (
    (USUAL, "pistons, pins, rings, locks, whole rods, small ends, shells"),
    (BOTH_ENDS, "the same, but rods hung by both ends instead of whole"),
    (NOTHING, "nothing: spin only"),
)


def kinds_of(choice: str, *, nominals_g: dict[str, float] | None = None) -> tuple[PartKind, ...]:
    """Return the kinds of part of a choice.

    Parameters
    ----------
    choice : str
        Key of `CHOICES`.
    nominals_g : dict[str, float] | None
        Expected weights by kind, where known. [g]

    Returns
    -------
    tuple[PartKind, ...]
        In the order they are weighed.

    Raises
    ------
    KeyError
        When there is no such choice.
    """
    if choice not in {key for key, _ in CHOICES}:
        raise KeyError(choice)
    if choice == NOTHING:
        return ()
    kinds = usual_kinds()
    if choice == BOTH_ENDS:
        big_end = PartKind(
            name="rod_big_end",
            label="rod big end",
            role=PartRole.ROD_BIG_END,
            limit_g=1.0,
            hint="small end hung level, big end on the scale",
        )
        kinds = tuple(big_end if kind.name == "rod_whole" else kind for kind in kinds)
    known = nominals_g or {}
    return tuple(
        kind.model_copy(update={"nominal_g": known[kind.name]}) if kind.name in known else kind for kind in kinds
    )

"""What the operator says: when he is told something, and when it is done."""

from __future__ import annotations

from enum import StrEnum

from sim.instructions import Lay, LayMass


class Answer(StrEnum):
    """What he says when he is told something."""

    WILL = "will do it"
    AT_IT = "already at it"
    DONE = "already so"


def did_lay(wanted: Lay | LayMass) -> dict[str, object]:
    """Return the words that tell of a laying.

    Parameters
    ----------
    wanted : Lay | LayMass
        What was laid, as he was told.

    Returns
    -------
    dict[str, object]
        One ``did`` line.
    """
    body = {"kind": wanted.kind, "place": wanted.place} if isinstance(wanted, Lay) else {"grams": wanted.grams}
    return {"did": {"lay": body}}

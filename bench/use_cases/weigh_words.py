"""Sentences about weights."""

from __future__ import annotations

from bench.capture.decisions import Taken
from bench.models.job import PartKind, PartRole
from bench.trail.events import Event

CHOICE_WORDS = {
    "take": "take it as it is",
    "again": "weigh it again",
    "skip": "leave this one for later",
    "clear": "clear the pan",
}


ROD_ENDS = frozenset({PartRole.ROD_BIG_END, PartRole.ROD_SMALL_END})


def level_words(kind: PartKind) -> str:
    """Return what to see to before a kind is laid.

    Parameters
    ----------
    kind : PartKind
        What is due.

    Returns
    -------
    str
        One sentence; empty for what is laid whole.
    """
    if kind.role not in ROD_ENDS:
        return ""
    end = "small end" if kind.role is PartRole.ROD_SMALL_END else "big end"
    return (
        f"{kind.label}: level the scale and the hanging fixture first, both ends of the rod at one height (a spirit "
        f"level along it), the {end} over the middle of the pan; with the fixture on, say clear: it counts as empty"
    )


def taken_words(label: str, taken: Taken, seq: int) -> str:
    """Return the sentence for a weight that is on disk.

    Parameters
    ----------
    label : str
        The part.
    taken : Taken
        The value.
    seq : int
        Its number in the trail.

    Returns
    -------
    str
        "taken: piston 3, 603.7 g (± 0.1 g, entry 57)".
    """
    doubt = ", uncertain: cover the pan and weigh it again" if taken.doubtful else ""
    shown = "" if taken.unit == "g" else f" (shown {taken.shown} {taken.unit})"
    wide = 2 * taken.standard_uncertainty_g
    return f"taken: {label}, {taken.grams} g{shown} (± {wide:.2f} g, entry {seq}){_hung_words(taken)}{doubt}"


def _hung_words(taken: Taken) -> str:
    if len(taken.hung_g) < 2:
        return ""
    places = max(1, -int(taken.grams.as_tuple().exponent))
    values = " and ".join(f"{grams:.{places}f}" for grams in taken.hung_g)
    apart = max(taken.hung_g) - min(taken.hung_g)
    middle = "mean" if len(taken.hung_g) == 2 or apart <= taken.apart_g else "middle one"
    return f"; {middle} of {values} g, {apart:.{places}f} g apart, allowed {taken.apart_g:.{places}f} g"


def bobweight_words(throw: int, taken: Taken, target_g: float, seq: int) -> str:
    """Return the sentence for a bobweight that is on disk.

    Parameters
    ----------
    throw : int
        Which throw.
    taken : Taken
        The value.
    target_g : float
        What it was brought to. [g]
    seq : int
        Its number in the trail.

    Returns
    -------
    str
        "taken: bobweight 2, 2317.8 g, target 2317.83 g, off +0.0 g (entry 61)".
    """
    off = float(taken.grams) - target_g
    wide = 2 * taken.standard_uncertainty_g
    doubt = f"; uncertain, ± {wide:.2f} g: keep the bench still and weigh it again" if taken.doubtful else ""
    return f"taken: bobweight {throw}, {taken.grams} g, target {target_g:.2f} g, off {off:+.2f} g (entry {seq}){doubt}"


def final_words(name: str, final: Taken, *, before: Event, event: Event) -> str:
    """Return the sentence for what the whole time on the pan said of a part, where it says something else.

    Parameters
    ----------
    name : str
        The part.
    final : Taken
        The value at the lift.
    before : Event
        The entry of the tone.
    event : Event
        The entry of the lift.

    Returns
    -------
    str
        "piston 3: amended to 603.6 g from the whole time it lay there (entry 58)"; empty where the value stands.
    """
    was, now = before.payload, event.payload
    if getattr(now, "doubtful", False) and not getattr(was, "doubtful", False):
        sure = 2 * final.standard_uncertainty_g
        return f"{name}: {final.grams} g is shown as doubtful: it left before it was surer than ±{sure:.2f} g"
    if final.grams != getattr(was, "grams", None):
        return f"{name}: amended to {final.grams} g from the whole time it lay there (entry {event.seq})"
    return ""

"""Sentences about weights."""

from __future__ import annotations

from bench.capture.decisions import Taken

CHOICE_WORDS = {
    "take": "take it as it is",
    "again": "weigh it again",
    "skip": "leave this one for later",
    "clear": "clear the pan",
}


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
        "taken: piston 3, 603.7 g (U 0.1 g, no. 57)".
    """
    doubt = ", uncertain: cover the pan and weigh it again" if taken.doubtful else ""
    shown = "" if taken.unit == "g" else f" (shown {taken.shown} {taken.unit})"
    wide = 2 * taken.standard_uncertainty_g
    return f"taken: {label}, {taken.grams} g{shown} (U {wide:.2f} g, no. {seq}){doubt}"


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
        "taken: bobweight 2, 2317.8 g, target 2317.83 g, off +0.0 g (no. 61)".
    """
    off = float(taken.grams) - target_g
    return f"taken: bobweight {throw}, {taken.grams} g, target {target_g:.2f} g, off {off:+.2f} g (no. {seq})"

"""What of a run belongs to the bobweight set or the fixture, as runs with it turned tell."""

from __future__ import annotations

import cmath
import math

from bench.computation.errors import QuantityError
from bench.models.job_state import JobState, PlaneAmount, Spin


def tooling_parts(state: JobState) -> dict[str, complex]:
    """Return the set's part of every reading.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    dict[str, complex]
        By plane, where its excess is with the set where it belongs [g]; empty when no index run tells, and when
        a bobweight was made since: then the set is another.
    """
    if not state.index_runs:
        return {}
    newest = state.index_runs[-1]
    if any(made.entry.seq > newest.run.entry.seq for made in state.bobweights.values()):
        return {}
    base = next((spin for spin in state.spins if spin.entry.event_id == newest.against), None)
    if base is None:
        return {}
    from bench.computation.index_balancing import index_parts
    from bench.computation.vectors import Vector

    turned = [one for one in state.index_runs if one.against == newest.against]
    positions = [0.0, *(one.turned_deg for one in turned)]
    found: dict[str, complex] = {}
    for plane in base.planes:
        shown = [plane, *(p for one in turned for p in one.run.planes if p.plane == plane.plane)]
        if len(shown) != len(positions):
            return {}
        try:
            parts = index_parts([Vector(p.amount_g, p.angle_deg) for p in shown], index_deg=positions)
        except QuantityError:
            return {}
        found[plane.plane] = parts.tooling.as_complex
    return found


def rotors_own(state: JobState, spin: Spin) -> tuple[PlaneAmount, ...]:
    """Return what of a run is the rotor's own.

    Parameters
    ----------
    state : JobState
        The job.
    spin : Spin
        A run with the set where it belongs.

    Returns
    -------
    tuple[PlaneAmount, ...]
        As shown when no index run tells the set's part.
    """
    parts = tooling_parts(state)
    if not parts:
        return spin.planes
    own: list[PlaneAmount] = []
    for plane in spin.planes:
        shown = cmath.rect(plane.amount_g, math.radians(plane.angle_deg))
        left = shown - parts.get(plane.plane, 0j)
        own.append(PlaneAmount(plane.plane, abs(left), math.degrees(cmath.phase(left)) % 360.0))
    return tuple(own)


def tooling_words(state: JobState) -> str:
    """Return the rotor's and the set's part in words.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        Empty when no index run tells.
    """
    parts = tooling_parts(state)
    if not parts:
        return ""
    base = next(spin for spin in state.spins if spin.entry.event_id == state.index_runs[-1].against)
    own = {amount.plane: amount for amount in rotors_own(state, base)}
    each = [
        f"{name}: rotor {own[name].amount_g:.2f} g at {own[name].angle_deg:.0f}°, "
        f"bobweight set {abs(part):.2f} g at {math.degrees(cmath.phase(part)) % 360.0:.0f}°"
        for name, part in parts.items()
    ]
    return f"told apart in run {base.number} by turning the set: {'; '.join(each)}"

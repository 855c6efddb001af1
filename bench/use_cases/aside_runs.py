"""Runs that are not the rotor's own: with the bobweight set turned, and with a known mass to check the machine."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from bench.computation.angle_check import AngleCheck, check_angles
from bench.computation.errors import QuantityError
from bench.models.job_state import JobState, Spin
from bench.models.tooling import tooling_words
from bench.trail.events import Event
from bench.trail.spin_events import AnglesChecked, RunIndexed
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe

LEAST_TURN_DEG = 20.0


@dataclass(frozen=True, slots=True)
class Found:
    """What a run that was set aside told.

    Attributes
    ----------
    event : Event
        As recorded.
    words : str
        What it means.
    check : AngleCheck | None
        For a check of the machine's angles.
    """

    event: Event
    words: str
    check: AngleCheck | None = None


def mark_index_run(scribe: Scribe, *, turned_deg: float) -> Found:
    """Record that the last run was made with the bobweight set (or the fixture) turned.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    turned_deg : float
        How far the set was turned against the run before; usually 180. [deg]

    Returns
    -------
    Found
        Rotor and set told apart.

    Raises
    ------
    RefusedError
        When there is no run before it, metal was cut between the two, or the turn tells nothing.
    """
    state = _open(scribe, "index run")
    if len(state.spins) < 2:
        raise RefusedError(
            "index run",
            found=f"{len(state.spins)} run{'s' if len(state.spins) != 1 else ''}",
            wanted="a run with the set where it belongs, and one with it turned",
            do="spin once more",
        )
    against, run = state.spins[-2:]
    if not math.isfinite(turned_deg) or abs(math.sin(math.radians(turned_deg / 2.0))) < math.sin(
        math.radians(LEAST_TURN_DEG / 2.0)
    ):
        raise RefusedError("index run", found=f"turned by {turned_deg:g}°", wanted="a turn of 20° to 340°, best 180°")
    if len(state.cuts) > run.after_cuts or run.after_cuts != against.after_cuts:
        raise RefusedError(
            "index run",
            found=f"metal was cut between run {against.number} and now",
            wanted="two runs without a cut between them or after them",
            do="spin twice, once with the set turned, and cut then",
        )
    event = scribe.record(
        [RunIndexed(spin=run.entry.event_id, against=against.entry.event_id, turned_deg=turned_deg)], how="typed"
    )[0]
    words = tooling_words(scribe.state) if scribe.state is not None else ""
    return Found(event, words or "recorded")


def check_machine(scribe: Scribe, *, plane: str, mass_g: float, at_deg: tuple[float, ...], instrument: str) -> Found:
    """Check what the machine's angles mean with the last runs: one without the mass, then one with it at each angle.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    plane : str
        Where the mass was fastened.
    mass_g : float
        The mass, as grams at the correction radius. [g]
    at_deg : tuple[float, ...]
        Where it was for each of the last runs, counter-clockwise from the zero mark seen from the front. [deg]
    instrument : str
        The machine.

    Returns
    -------
    Found
        What the profile has right and wrong.

    Raises
    ------
    RefusedError
        When there are not so many runs, metal was cut among them, the plane is unknown or the figures tell nothing.
    """
    state = _open(scribe, "check of the machine")
    names = [p.name for p in state.spec.planes]
    what = "check of the machine"
    if plane not in names:
        raise RefusedError(what, found=f"plane '{plane}'", wanted=" or ".join(names))
    count = len(at_deg) + 1
    runs = state.spins[-count:]
    if len(at_deg) < 2 or len(runs) < count:
        raise RefusedError(
            what,
            found=f"{len(runs)} runs for {len(at_deg)} angles",
            wanted="a run without the mass, then a run with it at each of two angles or more",
            do="fasten the mass at 0°, spin, fasten it at 90°, spin; then check",
        )
    if len({run.after_cuts for run in runs}) != 1 or len(state.cuts) > runs[-1].after_cuts:
        raise RefusedError(what, found="metal was cut among these runs", do="make the runs again without a cut")
    try:
        check = check_angles(
            _reading(runs[0], names),
            [_reading(run, names) for run in runs[1:]],
            plane_index=names.index(plane),
            mass_g=mass_g,
            at_deg=at_deg,
        )
    except QuantityError as fault:
        raise RefusedError(what, found=str(fault), do="correct the mass or the angles; nothing was recorded") from None
    words = check.in_words()
    event = scribe.record(
        [
            AnglesChecked(
                instrument=instrument,
                plane=plane,
                mass_g=mass_g,
                at_deg=tuple(at_deg),
                runs=tuple(run.entry.event_id for run in runs),
                agrees=check.agrees(),
                turned_by_deg=check.turned_by_deg,
                mirrored=check.mirrored,
                share_shown=check.share_shown,
                far_share=check.far_share,
                misfit_g=check.misfit_g,
                words=words,
            )
        ],
        how="typed",
    )[0]
    return Found(event, words, check)


def machine_words(state: JobState) -> str:
    """Return what is known of the machine's angles in this job.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        Empty when no check was made.
    """
    if not state.angles_proved:
        return ""
    last = state.angles_proved[-1]
    return (
        f"angles of {last.instrument or 'the machine'} checked with {last.mass_g:g} g at the {last.plane}: {last.words}"
    )


def _open(scribe: Scribe, what: str) -> JobState:
    if scribe.state is None:
        raise RefusedError(what, found="no job is open", do="open the job first")
    return scribe.state


def _reading(spin: Spin, planes: list[str]) -> list[complex]:
    shown = {amount.plane: amount for amount in spin.planes}
    return [cmath.rect(shown[name].amount_g, math.radians(shown[name].angle_deg)) for name in planes]

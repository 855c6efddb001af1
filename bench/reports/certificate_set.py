"""The certificate's table of a set: a row a rotor, and what all of them add up to on the crank."""

from __future__ import annotations

from dataclasses import dataclass

from bench.computation.unbalance import PlaneVerdict
from bench.models.job_state import JobState
from bench.reports.figures import NONE, angle, figure
from bench.use_cases.rotor_lines import RotorLine, rotor_lines, set_total


@dataclass(frozen=True, slots=True)
class PrintedRotor:
    """One rotor of the set."""

    name: str
    where: str
    runs: str
    left: str
    limit: str
    cuts: str
    verdict: str
    words: str
    good: bool


def rotors(state: JobState) -> tuple[PrintedRotor, ...]:
    """Return the rotors of a set.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    tuple[PrintedRotor, ...]
        In their order; empty where the job is one rotor.
    """
    return tuple(_rotor(line) for line in rotor_lines(state))


def _rotor(line: RotorLine) -> PrintedRotor:
    left = [
        f"{p.plane} {figure(p.amount_g, 2)} g at {angle(p.angle_deg)}" for p in line.planes if p.amount_g is not None
    ]
    limits = [f"{p.plane} {figure(p.limit_g, 2)} g ({p.limit_words})" for p in line.planes]
    cut = f"{line.cuts}, {figure(-line.removed_g, 1, signed=True)} g" if line.cuts else "none"
    return PrintedRotor(
        name=line.name,
        where=line.where + (", frozen" if line.frozen else ""),
        runs=str(line.runs) if line.planes else NONE,
        left="; ".join(left) or NONE,
        limit="; ".join(limits) or NONE,
        cuts=cut if line.planes else NONE,
        verdict=str(line.verdict.value) if line.planes else "to come",
        words=line.words,
        good=line.verdict is PlaneVerdict.INSIDE,
    )


def total(state: JobState) -> str:
    """Return what the set adds up to in the crank's planes.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        A sentence; empty where the job is one rotor or one has no run.
    """
    rows = [
        f"{one.plane} {figure(one.amount_g, 2)} g at {angle(one.angle_deg)}, at worst {figure(one.at_worst_g, 2)} g"
        for one in set_total(state)
    ]
    if not rows:
        return ""
    return (
        f"All together in the crank's planes, by statics: {'; '.join(rows)}. The first when every part is fitted mark "
        "to mark, the worst however it is turned; fits, bolts and bending are not in it."
    )

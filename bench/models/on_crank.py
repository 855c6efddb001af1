"""An externally balanced crank: what its parts carry in its planes, and what a run without them counts for."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from bench.computation.carried import Carried, InPlane, carried_in_planes
from bench.models.job import JobSpec, MountedPart
from bench.models.job_state import JobState, PlaneAmount, Spin
from bench.models.rotor_set import missing_parts
from bench.models.tooling import rotors_own


@dataclass(frozen=True, slots=True)
class WithAll:
    """A run as it counts: the rotor's own part, with every part that belongs on the crank.

    Attributes
    ----------
    planes : tuple[PlaneAmount, ...]
        What was not mounted is added as it nominally is, where that is known.
    missing : tuple[MountedPart, ...] | None
        Parts that were not mounted; None where nobody said what was.
    uncertainty_g : tuple[float, ...]
        What the missing parts add to each plane's uncertainty (expanded). [g]
    corrected : bool
        Whether something was added.
    """

    planes: tuple[PlaneAmount, ...]
    missing: tuple[MountedPart, ...] | None
    uncertainty_g: tuple[float, ...]
    corrected: bool

    @property
    def final(self) -> bool:
        """Whether the run can be a verdict: every part that belongs on the crank was on it."""
        return self.missing == ()


def carried_by(spec: JobSpec, parts: tuple[MountedPart, ...]) -> tuple[InPlane, ...] | None:
    """Return what parts nominally carry in the job's planes.

    Parameters
    ----------
    spec : JobSpec
        For its planes.
    parts : tuple[MountedPart, ...]
        Any of its parts.

    Returns
    -------
    tuple[InPlane, ...] | None
        One a plane [g]; None when it is not known of one of them.
    """
    carried: list[Carried] = []
    for part in parts:
        amount = part.amount_g_mm
        if amount is None:
            return None
        carried.append(Carried(amount, part.heavy_deg, part.position_mm, amount * part.give_or_take_percent / 100.0))
    return carried_in_planes(
        carried, positions_mm=[p.position_mm for p in spec.planes], radii_mm=[p.radius_mm for p in spec.planes]
    )


def with_all(state: JobState, spin: Spin) -> WithAll:
    """Return a run as it counts.

    Parameters
    ----------
    state : JobState
        The job.
    spin : Spin
        One of its runs.

    Returns
    -------
    WithAll
        As shown, less the bobweight set's part, with what missing parts nominally carry.
    """
    own = rotors_own(state, spin)
    missing = missing_parts(state.spec, spin)
    nothing = tuple(0.0 for _ in state.spec.planes)
    carried = carried_by(state.spec, missing) if missing else None
    if carried is None:
        return WithAll(own, missing, nothing, corrected=False)
    more = {plane.name: one.excess_g for plane, one in zip(state.spec.planes, carried, strict=True)}
    planes: list[PlaneAmount] = []
    for shown in own:
        whole = cmath.rect(shown.amount_g, math.radians(shown.angle_deg)) + more.get(shown.plane, 0j)
        planes.append(PlaneAmount(shown.plane, abs(whole), math.degrees(cmath.phase(whole)) % 360.0))
    return WithAll(tuple(planes), missing, tuple(one.uncertainty_g for one in carried), corrected=True)


def names_of(parts: tuple[MountedPart, ...]) -> str:
    """Return parts in words.

    Parameters
    ----------
    parts : tuple[MountedPart, ...]
        One or more.

    Returns
    -------
    str
        "flywheel and damper".
    """
    names = [part.name for part in parts]
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def no_verdict_words(missing: tuple[MountedPart, ...] | None) -> str:
    """Return why a run is no verdict.

    Parameters
    ----------
    missing : tuple[MountedPart, ...] | None
        As of `WithAll`.

    Returns
    -------
    str
        Empty when it can be one.
    """
    if missing is None:
        return "nobody said what was mounted"
    return f"run without {names_of(missing)}" if missing else ""


def part_words(part: MountedPart) -> str:
    """Return what a part carries, in words.

    Parameters
    ----------
    part : MountedPart
        The part.

    Returns
    -------
    str
        For example "flywheel: 900 g mm at 90°, give or take 10 %, at 540 mm".
    """
    if part.amount_g_mm is None:
        return f"{part.name}: what it carries is not known, at {part.position_mm:g} mm"
    told = f"{part.amount_g_mm:g} g mm"
    if part.carries_g is not None:
        told = f"{part.carries_g:g} g at {part.at_radius_mm:g} mm radius ({told})"
    return (
        f"{part.name}: {told} at {part.heavy_deg % 360.0:g}°, give or take {part.give_or_take_percent:g} %, "
        f"at {part.position_mm:g} mm"
    )


def in_planes_words(spec: JobSpec, parts: tuple[MountedPart, ...]) -> str:
    """Return what parts carry in each plane, in words.

    Parameters
    ----------
    spec : JobSpec
        For its planes.
    parts : tuple[MountedPart, ...]
        Any of its parts.

    Returns
    -------
    str
        For example "front 2.00 g at 270° ± 0.20 g, rear 12.00 g at 90° ± 1.20 g"; empty when it is not known.
    """
    carried = carried_by(spec, parts) if parts else None
    if carried is None:
        return ""
    return ", ".join(
        f"{plane.name} {abs(one.excess_g):.2f} g at {_whole_degrees(one.excess_g)}° ± {one.uncertainty_g:.2f} g"
        for plane, one in zip(spec.planes, carried, strict=True)
    )


def _whole_degrees(excess: complex) -> int:
    return round(math.degrees(cmath.phase(excess))) % 360


def mounted_words(state: JobState) -> str:
    """Return what was mounted at the last run and what each part carries, for the certificate.

    Parameters
    ----------
    state : JobState
        The job.

    Returns
    -------
    str
        Empty where no part belongs on the crank.
    """
    spec = state.spec
    if not spec.mounted or not state.spins:
        return ""
    last = state.spins[-1]
    if last.mounted is None:
        return f"run {last.number}: nobody said what was mounted"
    on = tuple(part for part in spec.mounted if part.name in last.mounted)
    off = tuple(part for part in spec.mounted if part.name not in last.mounted)
    words = [f"at run {last.number} " + (f"mounted: {'; '.join(part_words(p) for p in on)}" if on else "nothing")]
    together = in_planes_words(spec, on)
    if together:
        words.append(f"Together {together}")
    if off:
        words.append(f"NOT mounted: {'; '.join(part_words(p) for p in off)}")
    return ". ".join(words)

"""Record the metal that was really taken away or put in."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bench.models.job_state import JobState
from bench.trail.events import CutMade, Event
from bench.use_cases.crank_stations import CrankStations, crank_stations
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import CutLine

LARGEST_CUT_G = 500.0


def record_cuts(
    scribe: Scribe, cuts: Sequence[CutLine], *, proposed: Sequence[CutLine] = (), typed: bool = True
) -> list[Event]:
    """Record cuts in one durable step.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    cuts : Sequence[CutLine]
        What was done.
    proposed : Sequence[CutLine]
        What had been proposed, for the record.
    typed : bool
        A person said so; False on the hands-off bench.

    Returns
    -------
    list[Event]
        One event a cut.

    Raises
    ------
    RefusedError
        When no run was read yet, a plane is unknown or a number cannot be.
    """
    state = scribe.state
    if state is None or not state.spins:
        raise RefusedError("cut", found="no run was read yet", wanted="a run before the first cut", do="spin first")
    if not cuts:
        raise RefusedError("cut", found="no cut given")
    crank = crank_stations(state.spec, state.stations)
    payloads: list[CutMade] = []
    for index, cut in enumerate(cuts):
        plan = proposed[index] if index < len(proposed) and proposed[index].plane == cut.plane else None
        made = _made(cut, state, crank, what=f"cut {index + 1}")
        if plan is not None:
            made = made.model_copy(update={"proposed_g": plan.grams, "proposed_angle_deg": plan.angle_deg})
        payloads.append(made)
    return scribe.record(payloads, how="typed" if typed else "auto")


def put_cuts_right(scribe: Scribe, cuts: Sequence[tuple[str, CutLine]]) -> list[Event]:
    """Record that cuts were made otherwise than it was recorded; each keeps its place before the run that answered it.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    cuts : Sequence[tuple[str, CutLine]]
        The recorded cut's event, and what was really done; 0 grams and no hole when it was not made.

    Returns
    -------
    list[Event]
        One event a cut.

    Raises
    ------
    RefusedError
        When there is no such cut, nothing is given, or a number cannot be.
    """
    state = scribe.state
    if state is None or not cuts:
        raise RefusedError("cut", found="no cut given")
    crank = crank_stations(state.spec, state.stations)
    known = {cut.entry.event_id for cut in state.cuts}
    payloads: list[CutMade] = []
    for index, (event_id, cut) in enumerate(cuts):
        what = f"cut {index + 1}"
        if event_id not in known:
            raise RefusedError(what, found="no such cut is recorded", do="look at the trail")
        made = _made(cut, state, crank, what=what, may_be_none=True)
        payloads.append(made.model_copy(update={"supersedes": event_id}))
    return scribe.record(payloads, how="typed")


def _made(cut: CutLine, state: JobState, crank: CrankStations, *, what: str, may_be_none: bool = False) -> CutMade:
    names = [plane.name for plane in state.spec.cut_planes]
    if cut.plane not in names:
        raise RefusedError(what, found=f"plane '{cut.plane}'", wanted=" or ".join(names))
    if not math.isfinite(cut.grams):
        raise RefusedError(what, found=f"{cut.grams} g", wanted=f"grams up to {LARGEST_CUT_G:g}")
    known = [s.name for s in state.stations.stations if s.plane == cut.plane] if state.stations else []
    if cut.station and known and cut.station not in known:
        raise RefusedError(what, found=f"station '{cut.station}'", wanted=" or ".join(known))
    nothing = may_be_none and cut.grams == 0.0 and cut.chips_g is None and cut.depth_mm is None
    grams = 0.0 if nothing else crank.grams_of(cut, what=what)
    if not nothing and not 0 < abs(grams) <= LARGEST_CUT_G:
        raise RefusedError(what, found=f"{grams} g", wanted=f"grams up to {LARGEST_CUT_G:g}")
    if not math.isfinite(cut.angle_deg) or abs(cut.angle_deg) > 720:
        raise RefusedError(what, found=f"{cut.angle_deg}°", wanted="an angle in degrees")
    return CutMade(
        plane=cut.plane,
        angle_deg=cut.angle_deg % 360.0,
        grams=grams,
        station=cut.station,
        diameter_mm=cut.diameter_mm,
        depth_mm=cut.depth_mm,
        chips_g=cut.chips_g,
    )

"""Record a run of the balancing machine, from its text or typed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from bench.models.job import CorrectionPlane
from bench.trail.events import Event, PlaneShown, SpinRun
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from drivers.contract import ExportFault, ExportText, SpinReading

GRAM_MILLIMETRES_PER_OUNCE_INCH = 720.077887375  # exact: 28.349523125 g x 25.4 mm


def grams_at_radius(amount: float, *, unit: str, plane: CorrectionPlane) -> float:
    """Return an amount of unbalance as grams at the plane's correction radius.

    Parameters
    ----------
    amount : float
        As printed. [unit]
    unit : str
        "g", "g mm" or "oz in".
    plane : CorrectionPlane
        Its radius counts.

    Returns
    -------
    float
        Grams at the radius. [g]

    Raises
    ------
    RefusedError
        For a unit the bench does not know.
    """
    if unit == "g":
        return amount
    if unit == "g mm":
        return amount / plane.radius_mm
    if unit == "oz in":
        return amount * GRAM_MILLIMETRES_PER_OUNCE_INCH / plane.radius_mm
    raise RefusedError("run", found=f"amounts in '{unit}'", wanted="g, g mm or oz in", do="correct the profile's unit")


def _number_of_next_run(scribe: Scribe, what: str) -> int:
    if scribe.state is None:
        raise RefusedError(what, found="no job is open", do="open the job this run belongs to")
    if scribe.state.signed_off is not None:
        raise RefusedError(
            what,
            found=f"job {scribe.state.number} is signed off",
            wanted="a job that is not",
            do="open the job this run belongs to, or `spinledger job reopen` this one; then bring the run again",
        )
    return max((spin.number for spin in scribe.state.runs_taken), default=0) + 1


DIGITS_MOST = 12
"""More digits than that no instrument shows, and the record does not hold them."""


def record_run(scribe: Scribe, reading: SpinReading, text: ExportText, *, instrument: str) -> Event:
    """Record one run read from the machine's text.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    reading : SpinReading
        The run.
    text : ExportText
        Where it came from.
    instrument : str
        Which machine.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When the same text was taken before, or a plane of the job is missing in it.
    """
    number = _number_of_next_run(scribe, f"run from {text.name}")
    state = scribe.state
    if state is None:  # told apart above; here for the type checker
        raise RefusedError(text.name, found="no job is open")
    read = {plane.plane: plane for plane in reading.planes}
    shown: list[PlaneShown] = []
    for plane in state.spec.planes:
        if plane.name not in read:
            raise RefusedError(
                f"run from {text.name}",
                found=f"no plane '{plane.name}' in it (there are: {', '.join(read) or 'none'})",
                wanted=f"{' and '.join(p.name for p in state.spec.planes)}",
                do="print the run again with all planes; nothing was taken from this text",
            )
        got = read[plane.name]
        for figure in (got.amount, got.angle):
            if len(figure.as_tuple().digits) > DIGITS_MOST or figure.adjusted() >= DIGITS_MOST:
                raise RefusedError(
                    f"run from {text.name}, plane {plane.name}",
                    found=f"the figure {figure!s:.40}",
                    wanted=f"at most {DIGITS_MOST} digits",
                    do="look at the machine's text; nothing was taken from it",
                )
        shown.append(
            PlaneShown(
                plane=plane.name,
                shown_amount=got.amount,
                shown_angle=got.angle,
                amount_g=grams_at_radius(float(got.amount), unit=reading.unit, plane=plane),
                heavy_angle_deg=got.heavy_angle_deg % 360.0,
            )
        )
    payload = SpinRun(
        number=number,
        planes=tuple(shown),
        unit=reading.unit,
        label=reading.label,
        speed_rpm=reading.speed_rpm,
        source_name=text.name[:200],
        source_sha256=text.sha256,
        instrument=instrument,
    )
    return scribe.record([payload], raw=tuple(reading.raw.splitlines()))[0]


def record_text(
    scribe: Scribe, readings: Sequence[SpinReading | ExportFault], text: ExportText, *, instrument: str
) -> list[Event]:
    """Record all runs of one text, or refuse it whole.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    readings : Sequence[SpinReading | ExportFault]
        What the reader made of it.
    text : ExportText
        The text.
    instrument : str
        Which machine.

    Returns
    -------
    list[Event]
        One event a run.

    Raises
    ------
    RefusedError
        When the reader found a fault, the text is empty or was taken before.
    """
    for fault in readings:
        if isinstance(fault, ExportFault):
            where = f"{text.name}, line {fault.line}" if fault.line else text.name
            raise RefusedError(where, found=fault.found, wanted=fault.wanted, do=fault.do)
    runs = [reading for reading in readings if isinstance(reading, SpinReading)]
    if not runs:
        raise RefusedError(text.name, found="no run in it", wanted="at least one run")
    state = scribe.state
    if state is not None and any(spin.source_sha256 == text.sha256 for spin in state.runs_taken):
        raise RefusedError(text.name, found="this text was taken before", do="spin again for a new run")
    return [record_run(scribe, run, text, instrument=instrument) for run in runs]


def type_run(scribe: Scribe, planes: Sequence[tuple[str, Decimal, Decimal]], *, reason: str) -> Event:
    """Record a run typed by hand: grams at the correction radius and the angle of the excess mass.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    planes : Sequence[tuple[str, Decimal, Decimal]]
        Plane name, grams, angle in degrees.
    reason : str
        Why it is typed.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When a plane is missing or a number cannot be.
    """
    number = _number_of_next_run(scribe, "typed run")
    state = scribe.state
    if state is None:
        raise RefusedError("typed run", found="no job is open")
    if not reason.strip():
        raise RefusedError("typed run", found="no reason given", wanted="a few words why it is typed")
    names = [plane.name for plane in state.spec.planes]
    given = {name: (amount, angle) for name, amount, angle in planes}
    if sorted(given) != sorted(names):
        raise RefusedError("typed run", found=f"planes {sorted(given)}", wanted=f"{names}")
    shown: list[PlaneShown] = []
    for name in names:
        amount, angle = given[name]
        if not amount.is_finite() or not angle.is_finite() or amount < 0 or abs(angle) > 720 or amount > 100_000:
            raise RefusedError(
                f"typed run, plane {name}",
                found=f"{amount} g at {angle}°",
                wanted="grams from 0 and an angle in degrees",
            )
        shown.append(
            PlaneShown(
                plane=name,
                shown_amount=amount,
                shown_angle=angle,
                amount_g=float(amount),
                heavy_angle_deg=math.fmod(float(angle) + 720.0, 360.0),
            )
        )
    payload = SpinRun(number=number, planes=tuple(shown), unit="g", label=reason.strip()[:200])
    return scribe.record([payload], how="typed")[0]

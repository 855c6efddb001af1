"""Engine layouts to start a job from: throws, pins and which cylinders sit on which throw."""

from __future__ import annotations

from itertools import groupby

from bench.computation.engine_layouts import LAYOUTS as NAMED
from bench.computation.engine_layouts import NamedLayout
from bench.models.job import CorrectionPlane, EngineLayout, Throw


def _layout(name: str, pins: tuple[float, ...], *, rods: int, bank_deg: float = 0.0) -> EngineLayout:
    throws = tuple(
        Throw(
            number=i + 1,
            pin_deg=pin,
            cylinders=tuple(range(rods * i + 1, rods * i + rods + 1)),
            position_mm=60.0 + 110.0 * i,
        )
        for i, pin in enumerate(pins)
    )
    return EngineLayout(name=name, bank_deg=bank_deg, throws=throws)


LAYOUTS: dict[str, EngineLayout] = {
    "v8": _layout("V8 90 degrees, cross-plane", (0.0, 90.0, 270.0, 180.0), rods=2, bank_deg=90.0),
    "v8-flat": _layout("V8 90 degrees, flat-plane", (0.0, 180.0, 180.0, 0.0), rods=2, bank_deg=90.0),
    "v6-90": _layout("V6 90 degrees, three pins", (0.0, 120.0, 240.0), rods=2, bank_deg=90.0),
    "v6-60": _layout("V6 60 degrees, three pins", (0.0, 120.0, 240.0), rods=2, bank_deg=60.0),
    "v-twin": _layout("V-twin, one pin", (0.0,), rods=2, bank_deg=90.0),
    "inline-3": _layout("inline three", (0.0, 120.0, 240.0), rods=1),
    "inline-4": _layout("inline four", (0.0, 180.0, 180.0, 0.0), rods=1),
    "inline-6": _layout("inline six", (0.0, 120.0, 240.0, 240.0, 120.0, 0.0), rods=1),
    "single": _layout("single", (0.0,), rods=1),
    "flywheel": EngineLayout(name="flywheel or disc, no parts to weigh"),
}
"""Key to layout. A job file may hold any other."""


DISC = "disc"
"""Key of the rotor without throws."""
SPACING_MM = 110.0
FIRST_MM = 60.0


def engine_layout(named: NamedLayout) -> EngineLayout:
    """Return a layout of the computations as a job holds it: rods on one pin sit on one throw.

    Parameters
    ----------
    named : NamedLayout
        Cylinders front to back.

    Returns
    -------
    EngineLayout
        Cylinders numbered front to back, the left bank first.
    """
    first = min(cylinder.position for cylinder in named.cylinders)
    numbered = enumerate(named.cylinders, 1)
    throws: list[Throw] = []
    for (position, pin), group in groupby(numbered, key=lambda item: (item[1].position, item[1].pin_deg % 360.0)):
        throws.append(
            Throw(
                number=len(throws) + 1,
                pin_deg=pin,
                cylinders=tuple(number for number, _ in group),
                position_mm=FIRST_MM + SPACING_MM * (position - first),
            )
        )
    banks = [cylinder.bank_deg for cylinder in named.cylinders]
    return EngineLayout(name=named.words[:40], bank_deg=max(banks) - min(banks), throws=tuple(throws))


def layouts_to_pick() -> dict[str, EngineLayout]:
    """Return every layout a job can start from.

    Returns
    -------
    dict[str, EngineLayout]
        By key: those of the computations, then the disc.
    """
    return {named.name: engine_layout(named) for named in NAMED} | {DISC: LAYOUTS["flywheel"]}


def planes_for(layout: EngineLayout, *, radius_mm: float) -> tuple[CorrectionPlane, ...]:
    """Return the correction planes a layout starts with.

    Parameters
    ----------
    layout : EngineLayout
        With or without throws.
    radius_mm : float
        Correction radius. [mm]

    Returns
    -------
    tuple[CorrectionPlane, ...]
        Front and rear; one plane for a disc.
    """
    front = CorrectionPlane(name="front", radius_mm=radius_mm)
    if not layout.throws:
        return (front,)
    last = max(throw.position_mm for throw in layout.throws)
    return (front, CorrectionPlane(name="rear", radius_mm=radius_mm, position_mm=last + 60.0))

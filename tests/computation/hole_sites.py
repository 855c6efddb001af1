"""Places for holes, and what is to go, in few words for tests of holes."""

from __future__ import annotations

import cmath
import math

from bench.computation.cut_sites import HoleSite, PlaneTask
from bench.computation.stations import Station

DISC = Station("disc", 0, (1 + 0j,), gap_deg=10.0, most_g_per_hole=20.0)


def at(grams: float, angle_deg: float) -> complex:
    """Return grams at an angle as a complex number."""
    return cmath.rect(grams, math.radians(angle_deg))


def site(
    angle: float,
    room: float = 8.0,
    *,
    deepens: bool = True,
    name: str = "disc",
    doubt: float = 0.0,
    with_others: float = 0.0,
    per: float = 1.0,
) -> HoleSite:
    """Return a hole of the disc that may be deepened, or a new one."""
    doubts = {"disc": with_others, "other": with_others, name: doubt}
    return HoleSite(name, angle, room, complex(per), None, deepens, doubts, at(per, angle))


def task(take: complex = 0j, later: complex = 0j, likely: tuple[complex, ...] = (), **more: object) -> PlaneTask:
    """Return what is to go from the disc now and later."""
    values: dict[str, object] = {"effect": 1 + 0j, "inward": (), "least": (), **more}
    return PlaneTask(plane_index=0, take=take, later=later, likely_later=likely, **values)  # type: ignore[arg-type]

"""What turns: correction planes, tolerances, parts that belong on a crank while it spins, rotors balanced one by one.

These values are stored inside events, so a change of meaning needs a new event version.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Finite = Annotated[float, Field(allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
Words = Annotated[str, Field(max_length=200)]
Name = Annotated[str, Field(min_length=1, max_length=40)]


class Value(BaseModel):
    """A frozen value that refuses what it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class CorrectionPlane(Value):
    """A plane in which metal is taken away or added.

    Attributes
    ----------
    name : str
        "front" or "rear"; one-plane rotors have one plane.
    radius_mm : float
        Radius at which an amount in grams counts. [mm]
    position_mm : float
        Along the axis, from the front plane. [mm]
    centre_deg : float | None
        Middle of the arc where metal may go; None when it may go anywhere. [deg]
    arc_deg : float
        Width of that arc. [deg]
    """

    name: Name
    radius_mm: Positive
    position_mm: Finite = 0.0
    centre_deg: Finite | None = None
    arc_deg: Annotated[float, Field(gt=0, le=360)] = 360.0


class Tolerance(Value):
    """What counts as done.

    Attributes
    ----------
    shop_limit_g : float | None
        Limit a plane, in grams at the correction radius. [g]
    grade_mm_per_s : float | None
        Balance quality grade of ISO 21940-11 where asked for. [mm/s]
    bobweight_g : float
        How near a bobweight must come to its target. [g]
    spin_uncertainty_g : float
        Expanded uncertainty of a plane's reading, as repeat spins show it: the guard band. [g]
    """

    shop_limit_g: Positive | None = 1.0
    grade_mm_per_s: Positive | None = None
    bobweight_g: Positive = 0.1
    spin_uncertainty_g: NotNegative = 0.2

    @model_validator(mode="after")
    def _has_a_limit(self) -> Tolerance:
        if self.shop_limit_g is None and self.grade_mm_per_s is None:
            raise ValueError("no tolerance; wanted shop_limit_g or grade_mm_per_s")
        return self


class MountedPart(Value):
    """A part that belongs on an externally balanced crank while it is spun, and the unbalance it carries on purpose.

    What it carries is told as g mm, or as grams at a radius; neither where nobody knows it.

    Attributes
    ----------
    name : str
        "flywheel", "flexplate", "damper".
    position_mm : float
        Its middle along the axis, from the front correction plane; in front of it negative. [mm]
    carries_g_mm : float | None
        Nominal unbalance. [g mm]
    carries_g, at_radius_mm : float | None
        The same as grams at a radius. [g], [mm]
    heavy_deg : float
        Where its heavy side is, counter-clockwise from the crank's mark, seen from the front. [deg]
    give_or_take_percent : float
        How far what it really carries may be from that, in per cent of it (expanded, any direction).
    """

    name: Name
    position_mm: Finite
    carries_g_mm: NotNegative | None = None
    carries_g: NotNegative | None = None
    at_radius_mm: Positive | None = None
    heavy_deg: Finite = 0.0
    give_or_take_percent: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)] = 10.0

    @model_validator(mode="after")
    def _told_in_one_way(self) -> MountedPart:
        if self.carries_g_mm is not None and (self.carries_g is not None or self.at_radius_mm is not None):
            raise ValueError("what it carries is told twice; wanted carries_g_mm, or carries_g with at_radius_mm")
        if (self.carries_g is None) != (self.at_radius_mm is None):
            raise ValueError("half of what it carries; wanted carries_g with at_radius_mm, or carries_g_mm")
        return self

    @property
    def amount_g_mm(self) -> float | None:
        """Nominal unbalance; None where nobody knows it [g mm]."""
        if self.carries_g is not None and self.at_radius_mm is not None:
            return self.carries_g * self.at_radius_mm
        return self.carries_g_mm


class Stage(Value):
    """A rotor of a set that is balanced after the one before it: alone, or mounted on the balanced crank.

    Attributes
    ----------
    name : str
        What the part is: "flywheel", "damper", "clutch cover".
    on : str
        "arbor": it is spun alone, and its planes are those of the machine. "crank": it is mounted on what is
        balanced already; the machine goes on showing the crank's planes, and metal goes from this part only.
    planes : tuple[CorrectionPlane, ...]
        Where metal may go on this part. Positions count from the crank's front plane. [mm]
    tolerance : Tolerance
        What counts as done: of its own planes on an arbor, of the crank's planes on the crank.
    rotor_mass_kg : float | None
        Of this part alone on an arbor; of everything that turns on the crank. [kg]
    speed_rpm : float | None
        Highest speed; None takes the job's. [1/min]
    """

    name: Name
    on: Literal["arbor", "crank"] = "arbor"
    planes: Annotated[tuple[CorrectionPlane, ...], Field(min_length=1, max_length=2)]
    tolerance: Tolerance
    rotor_mass_kg: Positive | None = None
    speed_rpm: Positive | None = None

    @model_validator(mode="after")
    def _can_be_placed(self) -> Stage:
        names = [plane.name for plane in self.planes]
        if len(names) != len(set(names)):
            raise ValueError(f"two of one plane name in {names}; wanted each plane once")
        lost = [plane.name for plane in self.planes if "position_mm" not in plane.model_fields_set]
        if lost:
            raise ValueError(f"plane '{lost[0]}' of {self.name} without position_mm; wanted mm from the front plane")
        return self

"""What a job is before anything is weighed: engine, parts, planes, tolerance.

These values are stored inside the `job-opened` event, so a change of meaning needs a new event version.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, model_validator

from bench.models.rotors import (
    CorrectionPlane,
    Finite,
    MountedPart,
    Name,
    Positive,
    Share,
    Stage,
    Tolerance,
    Value,
    Words,
)

__all__ = [
    "MOST_PARTS",
    "NAMES_BY_ROLE",
    "Cell",
    "CorrectionPlane",
    "EngineLayout",
    "Finite",
    "JobSpec",
    "MountedPart",
    "Name",
    "PartKind",
    "PartRole",
    "Positive",
    "Share",
    "Stage",
    "Throw",
    "Tolerance",
    "Value",
    "Words",
    "cells_in_order",
    "label_of",
]


class PartRole(StrEnum):
    """How a kind of part counts in the bobweight."""

    RECIPROCATING = "reciprocating"
    ROTATING = "rotating"
    ROD_WHOLE = "rod whole"
    ROD_SMALL_END = "rod small end"
    ROD_BIG_END = "rod big end"


NAMES_BY_ROLE: dict[PartRole, frozenset[str]] = {
    PartRole.RECIPROCATING: frozenset({"piston", "pin", "rings", "locks"}),
    PartRole.ROTATING: frozenset({"rod_bearings"}),
    PartRole.ROD_WHOLE: frozenset({"rod_whole"}),
    PartRole.ROD_SMALL_END: frozenset({"rod_small_end"}),
    PartRole.ROD_BIG_END: frozenset({"rod_big_end"}),
}
"""Which kinds can play which role, so that a bobweight's lines are always told by their right names."""


class PartKind(Value):
    """A kind of part that is weighed, once per cylinder or once per throw.

    Attributes
    ----------
    name : str
        Key of the kind, e.g. "piston", "rod_whole".
    label : str
        What a person reads: "piston", "rod, whole", "rod, small end hung".
    role : PartRole
        How it counts in the bobweight.
    per : str
        "cylinder" or "throw": one weighing for each.
    nominal_g : float | None
        Expected weight where known; guards the first of a set. [g]
    limit_g : float | None
        Allowed spread of the set; None where the set has no limit of its own. [g]
    hint : str
        One sentence for the person laying it down; may be empty.
    """

    name: Name
    label: Name
    role: PartRole
    per: Literal["cylinder", "throw"] = "cylinder"
    nominal_g: Positive | None = None
    limit_g: Positive | None = None
    hint: Words = ""

    @model_validator(mode="after")
    def _plays_its_role(self) -> PartKind:
        names = NAMES_BY_ROLE[self.role]
        if self.name not in names:
            raise ValueError(f"kind '{self.name}' as {self.role.value}; wanted {', '.join(sorted(names))}")
        return self


class Throw(Value):
    """A crank throw and the cylinders whose rods sit on it.

    Attributes
    ----------
    number : int
        Counted from the front, from 1.
    pin_deg : float
        Pin angle from the crank's zero mark, counter-clockwise positive seen from the front. [deg]
    cylinders : tuple[int, ...]
        Cylinder numbers on this throw.
    position_mm : float
        Along the crank from the front correction plane. [mm]
    """

    number: int = Field(ge=1)
    pin_deg: Finite
    cylinders: tuple[int, ...] = Field(min_length=1)
    position_mm: Finite = 0.0


class EngineLayout(Value):
    """Throws of a crankshaft, front to back. A rotor without throws (a flywheel) has none."""

    name: Name
    bank_deg: Finite = 0.0
    throws: tuple[Throw, ...] = ()

    @property
    def cylinders(self) -> tuple[int, ...]:
        """All cylinder numbers in order."""
        return tuple(sorted(c for t in self.throws for c in t.cylinders))

    @model_validator(mode="after")
    def _each_cylinder_once(self) -> EngineLayout:
        cylinders = [c for t in self.throws for c in t.cylinders]
        if len(cylinders) != len(set(cylinders)):
            raise ValueError("a cylinder sits on two throws; wanted each cylinder on one throw")
        return self


def _none(value: object) -> bool:
    return not value


MOST_PARTS = 6


class JobSpec(Value):
    """Everything intake asks for.

    Three fields are left out of what is stored where they are empty, so that a job without them is what it always was.

    Attributes
    ----------
    mounted : tuple[MountedPart, ...]
        Parts that belong on an externally balanced crank while it is spun; only a run with all of them is a verdict.
    stages : tuple[Stage, ...]
        Rotors of the set that are balanced after this one, in this order.
    cut_at : tuple[CorrectionPlane, ...]
        Where alone metal may go while a part is balanced on the crank; empty: in the planes.
    """

    title: Name
    customer: Words = ""
    engine: Words = ""
    serial: Words = ""
    layout: EngineLayout
    kinds: tuple[PartKind, ...] = ()
    reciprocating_share: Share
    oil_g: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    rotor_mass_kg: Positive | None = None
    speed_rpm: Positive | None = None
    balance: Literal["internal", "external"] = "internal"
    planes: tuple[CorrectionPlane, ...] = Field(min_length=1, max_length=2)
    tolerance: Tolerance
    notes: Annotated[str, Field(max_length=4000)] = ""
    simulated: bool = False
    mounted: Annotated[tuple[MountedPart, ...], Field(max_length=MOST_PARTS, exclude_if=_none)] = ()
    stages: Annotated[tuple[Stage, ...], Field(max_length=MOST_PARTS, exclude_if=_none)] = ()
    cut_at: Annotated[tuple[CorrectionPlane, ...], Field(max_length=2, exclude_if=_none)] = ()

    @model_validator(mode="after")
    def _names_are_unique(self) -> JobSpec:
        for what, names in (
            ("kind", [k.name for k in self.kinds]),
            ("plane", [p.name for p in self.planes]),
            ("mounted part", [p.name for p in self.mounted]),
            ("rotor", [s.name for s in self.stages]),
        ):
            if len(names) != len(set(names)):
                raise ValueError(f"two of one {what} name in {names}; wanted each {what} once")
        if self.tolerance.grade_mm_per_s is not None and (self.rotor_mass_kg is None or self.speed_rpm is None):
            raise ValueError("a balance quality grade needs rotor_mass_kg and speed_rpm")
        if self.mounted and self.balance != "external":
            raise ValueError("parts that belong on the crank, but balance is internal; wanted balance external")
        for stage in self.stages:
            speed = stage.speed_rpm or self.speed_rpm
            if stage.tolerance.grade_mm_per_s is not None and (stage.rotor_mass_kg is None or speed is None):
                raise ValueError(f"a balance quality grade of {stage.name} needs its rotor_mass_kg and a speed_rpm")
        return self

    @property
    def cut_planes(self) -> tuple[CorrectionPlane, ...]:
        """Where metal goes: the planes, or the places of a part that is balanced on the crank."""
        return self.cut_at or self.planes

    def kind(self, name: str) -> PartKind:
        """Return the kind of this name.

        Parameters
        ----------
        name : str
            Key of the kind.

        Returns
        -------
        PartKind
            The kind.

        Raises
        ------
        KeyError
            When the job has no such kind.
        """
        for kind in self.kinds:
            if kind.name == name:
                return kind
        raise KeyError(name)


class Cell(Value):
    """One place of the weight sheet: a kind and the cylinder or throw it belongs to."""

    kind: Name
    place: int = Field(ge=1, le=64)

    def __hash__(self) -> int:
        """Return a hash: cells are keys of the sheet."""
        return hash((self.kind, self.place))

    def __str__(self) -> str:
        """Return the key people and files use, e.g. "piston 3"."""
        return f"{self.kind} {self.place}"


def label_of(spec: JobSpec, cell: Cell) -> str:
    """Return what a person calls a cell, e.g. "piston 3" or "bearing shells of throw 2".

    Parameters
    ----------
    spec : JobSpec
        The job.
    cell : Cell
        The cell.

    Returns
    -------
    str
        Words; the cell's key when the job has no such kind.
    """
    for kind in spec.kinds:
        if kind.name == cell.kind:
            return f"{kind.label} of throw {cell.place}" if kind.per == "throw" else f"{kind.label} {cell.place}"
    return str(cell)


def cells_in_order(spec: JobSpec) -> tuple[Cell, ...]:
    """Return the sheet's cells in the order they are weighed: all of one kind, then the next kind.

    Parameters
    ----------
    spec : JobSpec
        The job.

    Returns
    -------
    tuple[Cell, ...]
        Every cell once.
    """
    cells: list[Cell] = []
    for kind in spec.kinds:
        places = spec.layout.cylinders if kind.per == "cylinder" else tuple(t.number for t in spec.layout.throws)
        cells.extend(Cell(kind=kind.name, place=place) for place in places)
    return tuple(cells)

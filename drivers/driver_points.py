"""Where drivers are found: the entry points, by name, without importing any."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import EntryPoint, entry_points
from typing import Literal

Kind = Literal["scale", "balancer"]
_GROUPS: dict[Kind, str] = {"scale": "spinledger.scales", "balancer": "spinledger.balancers"}
OURS = "drivers."
"""Our own drivers are in this package."""
ASK_ITS_MAKER = "ask whoever made the driver; the others still work"


class DriverError(Exception):
    """A driver or profile that cannot be had, and what to do.

    Parameters
    ----------
    name : str
        The name asked for.
    found : str
        What is wrong.
    do : str
        The next step.
    """

    def __init__(self, *, name: str, found: str, do: str) -> None:
        super().__init__(f"{name}: {found}; {do}")
        self.name = name
        self.found = found
        self.do = do


class PlugInFaultError(DriverError):
    """A foreign driver that the settings name and that does not run: the bench can go on without it."""


@dataclass(frozen=True, slots=True)
class DriverSeen:
    """A driver's entry point, not imported.

    Attributes
    ----------
    name : str
        Name of the driver.
    kind : Kind
        "scale" or "balancer".
    origin : str
        Distribution and version it comes from.
    target : str
        Module and object.
    foreign : bool
        True when it is not from this tree.
    """

    name: str
    kind: Kind
    origin: str
    target: str
    foreign: bool


def points_of(kind: Kind) -> list[EntryPoint]:
    """Return the entry points of a kind.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".

    Returns
    -------
    list[EntryPoint]
        By name.
    """
    return sorted(entry_points(group=_GROUPS[kind]), key=lambda point: point.name)


def drivers_seen(kind: Kind) -> list[DriverSeen]:
    """List the drivers without importing any.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".

    Returns
    -------
    list[DriverSeen]
        By name.
    """
    seen: list[DriverSeen] = []
    for point in points_of(kind):
        origin = f"{point.dist.name} {point.dist.version}" if point.dist else "unknown"
        foreign = not point.value.startswith(OURS)
        seen.append(DriverSeen(point.name, kind, origin, point.value, foreign))
    return seen


def point_called(kind: Kind, name: str) -> EntryPoint:
    """Return the entry point of a driver.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    name : str
        Of the driver.

    Returns
    -------
    EntryPoint
        Not imported.

    Raises
    ------
    DriverError
        If there is none of that name.
    """
    point = next((point for point in points_of(kind) if point.name == name), None)
    if point is None:
        known = ", ".join(point.name for point in points_of(kind)) or "none"
        raise DriverError(name=name, found=f"no {kind} driver is called that", do=f"install it, or use one of: {known}")
    return point


def is_foreign(kind: Kind, name: str) -> bool:
    """Tell whether a driver is there and not from this tree.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    name : str
        Of the driver.

    Returns
    -------
    bool
        False also when there is none.
    """
    return any(seen.foreign and seen.name == name for seen in drivers_seen(kind))

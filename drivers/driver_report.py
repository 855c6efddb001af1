"""Every driver and profile with its state in words, for a list or a health check; one that fails stops no other."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Literal

from drivers.apart.permits import NOBODY, Permits
from drivers.contract import RunsApart
from drivers.registry import (
    DriverError,
    Kind,
    check_driver,
    drivers_seen,
    make_export_reader,
    make_scale_driver,
    profile_places,
)

Works = Literal["works", "not asked for", "fails"]


@dataclass(frozen=True, slots=True)
class DriverState:
    """One driver or profile, and whether it can be used.

    Attributes
    ----------
    kind : Kind
        "scale" or "balancer".
    sort : str
        "driver" for code, "profile" for a file that describes an instrument.
    name : str
        What it is called in settings.
    origin : str
        Distribution and version of a driver; "built in" or the file of a profile.
    state : Works
        "works", "not asked for" (a plug-in that the settings do not name, and that was not loaded), or "fails".
    words : str
        Why it does not work and what to do; empty when it works.
    foreign : bool
        A plug-in, which runs in a process of its own.
    """

    kind: Kind
    sort: Literal["driver", "profile"]
    name: str
    origin: str
    state: Works
    words: str = ""
    foreign: bool = False


def driver_states(*, folder: Path | None = None, allowed: Permits = NOBODY) -> list[DriverState]:
    """Try every driver and profile once.

    Parameters
    ----------
    folder : Path | None
        A folder with profiles of the user.
    allowed : Permits
        Plug-ins that may run; no other foreign driver is started.

    Returns
    -------
    list[DriverState]
        Scales first; drivers before profiles; a plug-in that the settings name and nobody installed is told as well.
    """
    states: list[DriverState] = []
    known: set[str] = set()
    kinds: tuple[Kind, ...] = ("scale", "balancer")
    for kind in kinds:
        make: Callable[..., object] = make_scale_driver if kind == "scale" else make_export_reader
        for seen in drivers_seen(kind):
            known.add(seen.name)
            if seen.foreign and seen.name not in allowed.files:
                words = f"a plug-in that the settings do not name: add {seen.name!r} to 'plugins' if you trust it"
                states.append(DriverState(kind, "driver", seen.name, seen.origin, "not asked for", words, foreign=True))
                continue
            # A plug-in brings its own profile and can be made; ours need a file, which is tried below.
            own = partial(check_driver, kind, seen.name)
            trouble = _trouble(partial(make, seen.name, allowed=allowed) if seen.foreign else own)
            how: Works = "fails" if trouble else "works"
            states.append(DriverState(kind, "driver", seen.name, seen.origin, how, trouble, seen.foreign))
        for name, path in profile_places(kind, folder=folder).items():
            origin = str(path) if folder is not None and path.parent == folder else "built in"
            trouble = _trouble(partial(make, name, folder=folder, allowed=allowed))
            states.append(DriverState(kind, "profile", name, origin, "fails" if trouble else "works", trouble))
    for name in sorted(set(allowed.files) - known):
        words = "the settings name it as a plug-in, and no driver of that name is installed; install it or take it out"
        states.append(DriverState("scale", "driver", name, "not installed", "fails", words))
    return states


def _trouble(act: Callable[[], object]) -> str:
    """Return why something fails, in a sentence; empty when it does not."""
    try:
        made = act()
    except DriverError as error:
        return f"{error.found}; {error.do}"
    if isinstance(made, RunsApart):
        made.close()
    return ""

"""Whether a foreign driver may run, and starting it."""

from __future__ import annotations

from importlib.metadata import EntryPoint
from pathlib import Path

from drivers.apart.fingerprint import FingerprintError, fingerprint, short
from drivers.apart.permits import Permits
from drivers.driver_points import ASK_ITS_MAKER, OURS, DriverError, Kind, PlugInFaultError, point_called, points_of


def plug_in_print(name: str) -> str:
    """Return the fingerprint of the files of a foreign driver, of whichever kind, without importing any of them.

    Parameters
    ----------
    name : str
        Name of the driver.

    Returns
    -------
    str
        Distribution, version and hash.

    Raises
    ------
    DriverError
        If there is no foreign driver of that name, or its files cannot be read.
    """
    kinds: tuple[Kind, ...] = ("scale", "balancer")
    points = [point for kind in kinds for point in points_of(kind) if point.name == name]
    foreign = next((point for point in points if not point.value.startswith(OURS)), None)
    if foreign is None:
        found = "it comes with the program" if points else "no plug-in is called that"
        do = (
            "it needs no leave" if points else "install it first; `spinledger instruments` lists the plug-ins there are"
        )
        raise DriverError(name=name, found=found, do=do)
    return _print_of(foreign)


def _print_of(point: EntryPoint) -> str:
    try:
        return fingerprint(point)
    except FingerprintError as error:
        raise DriverError(name=point.name, found=str(error), do="install the plug-in again") from error


def _check_leave(point: EntryPoint, allowed: Permits) -> None:
    """See that a foreign driver may run, and is what it was when that was said."""
    name = point.name
    again = f'look where it comes from; if you trust it: `spinledger settings --set plugins="{name}"`'
    if len(allowed.files) > 1:
        again = again.replace(f'"{name}"', f'"{" ".join(sorted(allowed.files))}"')
    if allowed.safe_mode:
        raise PlugInFaultError(
            name=name,
            found="in safe mode no plug-in runs",
            do="start without --safe-mode, or choose a built-in profile",
        )
    if name not in allowed.files:
        do = f"add {name!r} to 'plugins' in the settings if you trust where it comes from"
        raise DriverError(name=name, found="the driver is foreign and not named in the settings", do=do)
    then, now = allowed.files[name], _print_of(point)
    if not then:
        raise PlugInFaultError(
            name=name, found="the settings name the plug-in, but not which files were meant", do=again
        )
    if then != now:
        found = f"the plug-in is not what was allowed: then {short(then)}; now {short(now)}"
        raise PlugInFaultError(name=name, found=found, do=again)


def start_plug_in(kind: Kind, name: str, profile: Path | None, allowed: Permits) -> object:
    """Start a foreign driver in a process of its own.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    name : str
        Of the driver.
    profile : Path | None
        File of its profile; None when it brings its own.
    allowed : Permits
        Foreign drivers that may run.

    Returns
    -------
    object
        Keeps the contract of its kind.

    Raises
    ------
    DriverError
        If it is not named, or its profile is at fault.
    PlugInFaultError
        If it is named and does not run.
    """
    point = point_called(kind, name)
    _check_leave(point, allowed)
    from drivers.apart.plug_in import PlugInError, started

    try:
        return started(name, point.value, kind=kind, profile=profile)
    except PlugInError as error:
        if error.of_profile:
            raise DriverError(name=name, found=error.words, do="mend the profile") from error
        raise PlugInFaultError(name=name, found=error.words, do=ASK_ITS_MAKER) from error

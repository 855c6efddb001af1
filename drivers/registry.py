"""Drivers and profiles by name, at three grains: names without importing, one loaded, all with each one's fault.

A *driver* is code and comes through the entry points ``spinledger.scales`` and ``spinledger.balancers``; the ones in
this tree take the same way as foreign ones. A *profile* is a TOML file that names its driver: built in, or from a
folder of the user. A foreign driver runs only when it is named in the settings first, in a process of its own.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from drivers.apart.leave import start_plug_in
from drivers.apart.permits import NOBODY, Permits
from drivers.balancers.balancer_profile import BalancerProfile
from drivers.contract import DriverLoadFault, ExportReader, RunsApart, ScaleDriver
from drivers.driver_points import (
    ASK_ITS_MAKER,
    DriverError,
    DriverSeen,
    Kind,
    drivers_seen,
    is_foreign,
    point_called,
)
from drivers.profile import PROFILE_CAP, ProfileError, read_profile
from drivers.scales.scale_profile import ScaleProfile

__all__ = [
    "AllLoaded",
    "DriverError",
    "DriverSeen",
    "Kind",
    "balancer_names",
    "balancer_profile",
    "check_driver",
    "drivers_seen",
    "load_all",
    "make_export_reader",
    "make_scale_driver",
    "profile_places",
    "scale_names",
    "scale_profile",
]

_FOLDERS: dict[Kind, Path] = {
    "scale": Path(__file__).parent / "scales" / "profiles",
    "balancer": Path(__file__).parent / "balancers" / "profiles",
}
_MODELS: dict[Kind, type[ScaleProfile | BalancerProfile]] = {"scale": ScaleProfile, "balancer": BalancerProfile}


@dataclass(frozen=True, slots=True)
class AllLoaded:
    """Everything that could be loaded, and why the rest could not.

    Attributes
    ----------
    names : tuple[str, ...]
        What works.
    faults : tuple[DriverLoadFault, ...]
        What does not, each with its reason.
    """

    names: tuple[str, ...]
    faults: tuple[DriverLoadFault, ...]


def _profile_files(kind: Kind, folder: Path | None) -> dict[str, Path]:
    """Return the profile files by name; a user's file goes before a built-in one of the same name."""
    files = {path.stem: path for path in sorted(_FOLDERS[kind].glob("*.toml"))}
    if folder is not None and folder.is_dir():
        files.update({path.stem: path for path in sorted(folder.glob("*.toml")) if _may_be(path, kind)})
    return files


def _may_be(path: Path, kind: Kind) -> bool:
    """Tell whether a user's profile is of a kind; one that cannot be read may be either, so that its fault is told."""
    try:
        with path.open("rb") as file:
            top = tomllib.loads(file.read(PROFILE_CAP).decode("utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return True
    return not top or kind == top.get("kind", "balancer" if "planes" in top or "angle" in top else "scale")


def profile_places(kind: Kind, *, folder: Path | None = None) -> dict[str, Path]:
    """Return where each profile is kept.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    folder : Path | None
        A folder with profiles of the user, which go before built-in ones of the same name.

    Returns
    -------
    dict[str, Path]
        File by name.
    """
    return _profile_files(kind, folder)


def scale_names(*, folder: Path | None = None) -> list[str]:
    """List what can be given to `make_scale_driver`, without importing a driver or reading a profile.

    Parameters
    ----------
    folder : Path | None
        A folder with profiles of the user.

    Returns
    -------
    list[str]
        Names of profiles, and of foreign drivers that bring their own.
    """
    return _names("scale", folder)


def balancer_names(*, folder: Path | None = None) -> list[str]:
    """List what can be given to `make_export_reader`, without importing a driver or reading a profile.

    Parameters
    ----------
    folder : Path | None
        A folder with profiles of the user.

    Returns
    -------
    list[str]
        Names of profiles, and of foreign drivers that bring their own.
    """
    return _names("balancer", folder)


def check_driver(kind: Kind, name: str) -> None:
    """Import one of our own drivers, to see whether it can be had.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    name : str
        Name of the driver.

    Raises
    ------
    DriverError
        If there is none of that name, or loading it fails.
    """
    _load(kind, name)


def _names(kind: Kind, folder: Path | None) -> list[str]:
    foreign = [seen.name for seen in drivers_seen(kind) if seen.foreign]
    return sorted({*_profile_files(kind, folder), *foreign})


def scale_profile(name: str, *, folder: Path | None = None) -> ScaleProfile:
    """Read the profile of a scale.

    Parameters
    ----------
    name : str
        Name of the profile.
    folder : Path | None
        A folder with profiles of the user.

    Returns
    -------
    ScaleProfile
        The profile; its `port` says how the port is opened.

    Raises
    ------
    DriverError
        If there is none of that name or it cannot be read.
    """
    return cast("ScaleProfile", _profile("scale", name, folder))


def balancer_profile(name: str, *, folder: Path | None = None) -> BalancerProfile:
    """Read the profile of a balancing machine.

    Parameters
    ----------
    name : str
        Name of the profile.
    folder : Path | None
        A folder with profiles of the user.

    Returns
    -------
    BalancerProfile
        The profile.

    Raises
    ------
    DriverError
        If there is none of that name or it cannot be read.
    """
    return cast("BalancerProfile", _profile("balancer", name, folder))


def _profile(kind: Kind, name: str, folder: Path | None) -> ScaleProfile | BalancerProfile:
    path = _profile_files(kind, folder).get(name)
    if path is None:
        known = ", ".join(_names(kind, folder)) or "none"
        raise DriverError(name=name, found=f"no {kind} is called that", do=f"choose one of: {known}")
    try:
        profile = read_profile(path, _MODELS[kind])
    except ProfileError as error:
        raise DriverError(name=name, found=str(error), do=f"mend the file {path.name}") from error
    if profile.name != name:
        found = f"the file {path.name} says name = {profile.name!r}"
        raise DriverError(name=name, found=found, do="give file and profile one name")
    return profile


def _load(kind: Kind, name: str) -> Callable[[object], object]:
    """Import one of our own drivers and return what makes it from a profile."""
    point = point_called(kind, name)
    try:
        loaded: object = point.load()
        maker: object = getattr(loaded, "from_profile", None)
    except Exception as error:
        found = f"loading {point.value} failed: {type(error).__name__}: {error}"
        raise DriverError(name=name, found=found, do=ASK_ITS_MAKER) from error
    if not callable(maker):
        raise DriverError(name=name, found=f"{point.value} has no from_profile", do=ASK_ITS_MAKER)
    return maker


def make_scale_driver(name: str, *, folder: Path | None = None, allowed: Permits = NOBODY) -> ScaleDriver:
    """Make the driver of a scale.

    Parameters
    ----------
    name : str
        One of `scale_names`.
    folder : Path | None
        A folder with profiles of the user.
    allowed : Permits
        Foreign drivers that may run.

    Returns
    -------
    ScaleDriver
        A driver that has seen no byte yet.

    Raises
    ------
    DriverError
        If there is none of that name, its profile cannot be read, or its driver cannot be loaded.
    """
    return cast("ScaleDriver", _make("scale", name, folder, allowed))


def make_export_reader(name: str, *, folder: Path | None = None, allowed: Permits = NOBODY) -> ExportReader:
    """Make the reader of a balancing machine's text.

    Parameters
    ----------
    name : str
        One of `balancer_names`.
    folder : Path | None
        A folder with profiles of the user.
    allowed : Permits
        Foreign drivers that may run.

    Returns
    -------
    ExportReader
        A reader.

    Raises
    ------
    DriverError
        If there is none of that name, its profile cannot be read, or its driver cannot be loaded.
    """
    return cast("ExportReader", _make("balancer", name, folder, allowed))


def _make(kind: Kind, name: str, folder: Path | None, allowed: Permits) -> object:
    """Make a driver from its profile, or a foreign one that brings its own."""
    path = _profile_files(kind, folder).get(name)
    if path is not None:
        profile = _profile(kind, name, folder)
        driver_name = profile.driver
    else:
        if not is_foreign(kind, name):
            known = ", ".join(_names(kind, folder)) or "none"
            raise DriverError(name=name, found=f"no {kind} is called that", do=f"choose one of: {known}")
        profile, driver_name = None, name
    if is_foreign(kind, driver_name):
        return start_plug_in(kind, driver_name, path, allowed)
    maker = _load(kind, driver_name)
    try:
        made = maker(profile)
    except ProfileError as error:
        raise DriverError(name=name, found=str(error), do="mend the profile") from error
    except Exception as error:
        found = f"the driver could not be made: {type(error).__name__}: {error}"
        raise DriverError(name=name, found=found, do=ASK_ITS_MAKER) from error
    if not isinstance(made, ScaleDriver if kind == "scale" else ExportReader):
        found = f"{type(made).__name__} does not keep the contract of a {kind} driver"
        raise DriverError(name=name, found=found, do=ASK_ITS_MAKER)
    return made


def load_all(kind: Kind, *, folder: Path | None = None, allowed: Permits = NOBODY) -> AllLoaded:
    """Make every driver once and tell each one's fault; one that fails does not stop the rest.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    folder : Path | None
        A folder with profiles of the user.
    allowed : Permits
        Foreign drivers that may run.

    Returns
    -------
    AllLoaded
        What works, and what does not with its reason.
    """
    works: list[str] = []
    faults: list[DriverLoadFault] = []
    make = make_scale_driver if kind == "scale" else make_export_reader
    for name in _names(kind, folder):
        try:
            made: object = make(name, folder=folder, allowed=allowed)
        except DriverError as error:
            faults.append(DriverLoadFault(name, f"{error.found}; {error.do}"))
        else:
            works.append(name)
            if isinstance(made, RunsApart):
                made.close()
    return AllLoaded(tuple(works), tuple(faults))

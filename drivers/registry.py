"""Drivers and profiles by name, at three grains: names without importing, one loaded, all with each one's fault.

A *driver* is code and comes through the entry points ``spinledger.scales`` and ``spinledger.balancers``; the ones in
this tree take the same way as foreign ones. A *profile* is a TOML file that names its driver: built in, or from a
folder of the user. A foreign driver is loaded only when it is named in the settings first.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Collection
from dataclasses import dataclass
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import Literal, cast

from drivers.balancers.balancer_profile import BalancerProfile
from drivers.contract import DriverLoadFault, ExportReader, ScaleDriver
from drivers.profile import PROFILE_CAP, ProfileError, read_profile
from drivers.scales.scale_profile import ScaleProfile

Kind = Literal["scale", "balancer"]
_GROUPS: dict[Kind, str] = {"scale": "spinledger.scales", "balancer": "spinledger.balancers"}
_FOLDERS: dict[Kind, Path] = {
    "scale": Path(__file__).parent / "scales" / "profiles",
    "balancer": Path(__file__).parent / "balancers" / "profiles",
}
_MODELS: dict[Kind, type[ScaleProfile | BalancerProfile]] = {"scale": ScaleProfile, "balancer": BalancerProfile}
_OURS = "drivers."


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


def _points(kind: Kind) -> list[EntryPoint]:
    return sorted(entry_points(group=_GROUPS[kind]), key=lambda point: point.name)


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
    for point in _points(kind):
        origin = f"{point.dist.name} {point.dist.version}" if point.dist else "unknown"
        foreign = not point.value.startswith(_OURS)
        seen.append(DriverSeen(point.name, kind, origin, point.value, foreign))
    return seen


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


def check_driver(kind: Kind, name: str, *, allowed: Collection[str] = ()) -> None:
    """Import one driver, to see whether it can be had.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    name : str
        Name of the driver.
    allowed : Collection[str]
        Foreign drivers that the settings name.

    Raises
    ------
    DriverError
        If there is none of that name, it is foreign and not named, or loading it fails.
    """
    _load(kind, name, allowed)


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


def _load(kind: Kind, name: str, allowed: Collection[str]) -> Callable[[object], object]:
    """Import one driver and return what makes it from a profile."""
    point = next((point for point in _points(kind) if point.name == name), None)
    if point is None:
        known = ", ".join(point.name for point in _points(kind)) or "none"
        raise DriverError(name=name, found=f"no {kind} driver is called that", do=f"install it, or use one of: {known}")
    if not point.value.startswith(_OURS) and name not in allowed:
        do = f"add {name!r} to 'plugins' in the settings if you trust where it comes from"
        raise DriverError(name=name, found="the driver is foreign and not named in the settings", do=do)
    try:
        loaded: object = point.load()
        maker: object = getattr(loaded, "from_profile", None)
    except Exception as error:
        found = f"loading {point.value} failed: {type(error).__name__}: {error}"
        raise DriverError(name=name, found=found, do="ask whoever made the driver; the others still work") from error
    if not callable(maker):
        found = f"{point.value} has no from_profile"
        raise DriverError(name=name, found=found, do="ask whoever made the driver; the others still work")
    return maker


def make_scale_driver(name: str, *, folder: Path | None = None, allowed: Collection[str] = ()) -> ScaleDriver:
    """Make the driver of a scale.

    Parameters
    ----------
    name : str
        One of `scale_names`.
    folder : Path | None
        A folder with profiles of the user.
    allowed : Collection[str]
        Foreign drivers that the settings name.

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


def make_export_reader(name: str, *, folder: Path | None = None, allowed: Collection[str] = ()) -> ExportReader:
    """Make the reader of a balancing machine's text.

    Parameters
    ----------
    name : str
        One of `balancer_names`.
    folder : Path | None
        A folder with profiles of the user.
    allowed : Collection[str]
        Foreign drivers that the settings name.

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


def _make(kind: Kind, name: str, folder: Path | None, allowed: Collection[str]) -> object:
    """Make a driver from its profile, or a foreign one that brings its own."""
    if name in _profile_files(kind, folder):
        profile: ScaleProfile | BalancerProfile | None = _profile(kind, name, folder)
        driver_name = profile.driver if profile else name
    else:
        if not any(seen.foreign and seen.name == name for seen in drivers_seen(kind)):
            known = ", ".join(_names(kind, folder)) or "none"
            raise DriverError(name=name, found=f"no {kind} is called that", do=f"choose one of: {known}")
        profile, driver_name = None, name
    maker = _load(kind, driver_name, allowed)
    try:
        made = maker(profile)
    except ProfileError as error:
        raise DriverError(name=name, found=str(error), do="mend the profile") from error
    except Exception as error:
        found = f"the driver could not be made: {type(error).__name__}: {error}"
        raise DriverError(name=name, found=found, do="ask whoever made the driver; the others still work") from error
    if not isinstance(made, ScaleDriver if kind == "scale" else ExportReader):
        found = f"{type(made).__name__} does not keep the contract of a {kind} driver"
        raise DriverError(name=name, found=found, do="ask whoever made the driver; the others still work")
    return made


def load_all(kind: Kind, *, folder: Path | None = None, allowed: Collection[str] = ()) -> AllLoaded:
    """Make every driver once and tell each one's fault; one that fails does not stop the rest.

    Parameters
    ----------
    kind : Kind
        "scale" or "balancer".
    folder : Path | None
        A folder with profiles of the user.
    allowed : Collection[str]
        Foreign drivers that the settings name.

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
            make(name, folder=folder, allowed=allowed)
        except DriverError as error:
            faults.append(DriverLoadFault(name, f"{error.found}; {error.do}"))
        else:
            works.append(name)
    return AllLoaded(tuple(works), tuple(faults))

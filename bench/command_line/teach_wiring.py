"""The part of the wiring that names the teachers: from what was heard and shown to a saved profile."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from bench.command_line.places import Places
from bench.use_cases.errors import RefusedError
from drivers import registry
from drivers.balancers.balancer_profile import AngleMeaning, Unit
from drivers.contract import Link, LinkSink, Reading
from drivers.links.opening import AddressError, port_link
from drivers.links.serial_link import Patience
from drivers.profile import PortSettings
from drivers.profile_writing import profile_toml, save_profile
from drivers.scales.streaming import StreamingScale
from drivers.teach import NeedsMore, Taught, TaughtState, Unreadable, teach_scale
from drivers.teach_export import ExportNeedsMore, ExportUnreadable, ShownPlane, TaughtExport, teach_export

__all__ = [
    "PortSettings",
    "keep_checked",
    "profile_toml",
    "raw_link",
    "settled_profile",
    "teach_a_scale",
    "teach_an_export",
    "values_read",
    "write_profile",
]


def raw_link(address: str, sink: LinkSink, *, port: PortSettings) -> Link:
    """Return a link for listening to whatever comes, before anything is known of it.

    Parameters
    ----------
    address : str
        A port's name, a pySerial URL or a USB identity.
    sink : LinkSink
        Where bytes go.
    port : PortSettings
        How to open it.

    Returns
    -------
    Link
        Not yet started; it never calls the instrument silent.
    """
    try:
        return port_link(address, sink, port=port, patience=Patience(silent_after_s=None))
    except AddressError as fault:
        raise RefusedError("port", found=fault.address, wanted=fault.wanted) from fault


def teach_a_scale(states: Sequence[TaughtState], *, name: str) -> Taught | NeedsMore | Unreadable:
    """Learn a scale's profile.

    Parameters
    ----------
    states : Sequence[TaughtState]
        The steps.
    name : str
        Name of the new profile.

    Returns
    -------
    Taught | NeedsMore | Unreadable
        A profile, a question, or why it cannot be read.
    """
    return teach_scale(states, name=name)


def values_read(taught: Taught, raw: bytes) -> list[Decimal]:
    """Return the weights that a learnt profile reads in a capture.

    Parameters
    ----------
    taught : Taught
        What was learnt.
    raw : bytes
        What came.

    Returns
    -------
    list[Decimal]
        Oldest first. [the profile's unit]
    """
    items = StreamingScale(taught.profile).feed(raw, 0)
    return [item.value for item in items if isinstance(item, Reading) and item.value is not None]


def settled_profile(taught: Taught, *, port: PortSettings, print_key: bool = False) -> Taught:
    """Return what was learnt together with how its port is opened.

    Parameters
    ----------
    taught : Taught
        What was learnt from the bytes.
    port : PortSettings
        How the port was opened, and what the scale is asked.
    print_key : bool
        The scale sends one line for each press of its print key.

    Returns
    -------
    Taught
        The same with port and driver.
    """
    profile = taught.profile
    driver = "print-key" if print_key else "ask-and-answer" if port.ask else profile.driver
    if print_key:
        port = port.model_copy(update={"quiet_is_normal": True})
    whole_lines = print_key or bool(port.ask)
    frame = profile.frame.model_copy(update={"drop_first": False}) if whole_lines else profile.frame
    return Taught(profile.model_copy(update={"port": port, "driver": driver, "frame": frame}), taught.why)


def teach_an_export(
    data: bytes, shown: Sequence[ShownPlane], *, angle: dict[str, object], unit: str, name: str
) -> TaughtExport | ExportNeedsMore | ExportUnreadable:
    """Learn the profile of a balancing machine's text.

    Parameters
    ----------
    data : bytes
        A text with one run or several.
    shown : Sequence[ShownPlane]
        What the machine shows for one of them.
    angle : dict[str, object]
        What its angle means, field by field of the profile's [angle].
    unit : str
        "g", "g mm" or "oz in".
    name : str
        Name of the new profile.

    Returns
    -------
    TaughtExport | ExportNeedsMore | ExportUnreadable
        A profile, a question, or why it cannot be read.
    """
    units: dict[str, Unit] = {"g": "g", "g mm": "g mm", "oz in": "oz in"}
    if unit not in units:
        raise RefusedError("unit", found=f"'{unit}'", wanted=" or ".join(units))
    try:
        meaning = AngleMeaning.model_validate(angle)
    except ValueError as fault:
        raise RefusedError("angle", found=str(fault).splitlines()[1].strip(), wanted="see the guide") from fault
    return teach_export(data, shown, angle=meaning, unit=units[unit], name=name)


def keep_checked(
    name: str, places: Places, *, mirrored: bool, turned_by_deg: float, swapped: bool, checked: str, new_name: str
) -> Path:
    """Save a balancing machine's profile with its angles as runs with a known mass showed them.

    Parameters
    ----------
    name : str
        The profile that read those runs.
    places : Places
        For the shop's own profiles.
    mirrored : bool
        The angles go the other way round.
    turned_by_deg : float
        What is to be added to the angles. [deg]
    swapped : bool
        The planes are to be exchanged.
    checked : str
        When and how it was checked.
    new_name : str
        Name of the profile that is saved.

    Returns
    -------
    Path
        The file.
    """
    if new_name in registry.profile_places("balancer", folder=places.profiles):
        raise RefusedError(f"profile '{new_name}'", found="there is one of that name", do="give it another name")
    try:
        told = registry.balancer_profile(name, folder=places.profiles)
    except registry.DriverError as fault:
        raise RefusedError("balancer", found=str(fault)) from fault
    planes = dict(told.planes)
    if swapped and len(told.bench_planes) == 2:
        first, second = told.bench_planes
        planes = {printed: second if plane == first else first for printed, plane in planes.items()}
    right = told.model_copy(
        update={
            "name": new_name,
            "planes": planes,
            "angle": told.angle.put_right(mirrored=mirrored, turned_by_deg=turned_by_deg),
            "checked": checked[:200],
        }
    )
    try:
        return save_profile(right, places.profiles)
    except OSError as fault:
        raise RefusedError(str(places.profiles), found=fault.strerror or str(fault), do="look at its rights") from fault


def write_profile(taught: Taught | TaughtExport, places: Places) -> Path:
    """Save a learnt profile where the program finds it.

    Parameters
    ----------
    taught : Taught | TaughtExport
        What was learnt.
    places : Places
        For the shop's own profiles.

    Returns
    -------
    Path
        The file.
    """
    name = taught.profile.name
    kind: registry.Kind = "scale" if isinstance(taught, Taught) else "balancer"
    if name in registry.profile_places(kind, folder=places.profiles):
        raise RefusedError(f"profile '{name}'", found="there is one of that name", do="give it another name")
    try:
        return save_profile(taught.profile, places.profiles)
    except OSError as fault:
        raise RefusedError(str(places.profiles), found=fault.strerror or str(fault), do="look at its rights") from fault

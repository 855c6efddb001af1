"""The part of the wiring that names drivers and links: from a setting to a driver, from an address to a link."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from bench.command_line.places import Places
from bench.command_line.plug_in_wiring import (
    NOBODY,
    ApartReader,
    ApartScale,
    Permits,
    PlugInFaultError,
    plugins,
    print_of_plug_in,
    recorded_name,
)
from bench.command_line.settings import InstrumentSettings, Settings
from bench.use_cases.errors import RefusedError
from drivers import registry
from drivers.contract import (
    ExportReader,
    ExportText,
    Link,
    LinkChange,
    LinkItem,
    LinkSink,
    LinkState,
    PortSeen,
    ScaleDriver,
)
from drivers.driver_report import DriverState, driver_states
from drivers.links.export_files import ExportFileError, read_export_file
from drivers.links.looking import PortState, look_at
from drivers.links.opening import AddressError, lasting_address, port_link, scale_link
from drivers.links.port_capture import PortCapture
from drivers.links.ports_seen import ports_seen, weighing_devices_seen
from drivers.links.recording import RecordingError, RecordingSink, read_recording
from drivers.links.watched_folder import WatchedFolder
from drivers.profile import PortSettings

__all__ = [
    "CapturedPort",
    "PortState",
    "drivers_now",
    "export_reader",
    "folder_link",
    "heard_in_file",
    "lasting_address",
    "link_of_scale",
    "plugins",
    "port_states",
    "ports_now",
    "print_of_plug_in",
    "profile_names",
    "read_text_file",
    "recorded_name",
    "recording_to",
    "scale_driver",
]


def scale_driver(
    instrument: InstrumentSettings, places: Places, *, allowed: Permits = NOBODY, stand_in: bool = False
) -> ScaleDriver:
    """Return the driver of a scale.

    Parameters
    ----------
    instrument : InstrumentSettings
        Names the profile.
    places : Places
        For the shop's own profiles.
    allowed : Permits
        Foreign drivers that may run.
    stand_in : bool
        Where a foreign driver that the settings name does not run, return one that reads nothing and says why.

    Returns
    -------
    ScaleDriver
        Ready to be fed.
    """
    try:
        return registry.make_scale_driver(instrument.profile, folder=places.profiles, allowed=allowed)
    except registry.DriverError as fault:
        if stand_in and isinstance(fault, PlugInFaultError):
            return ApartScale(None, name=instrument.profile, trouble=str(fault))
        raise RefusedError("scale", found=str(fault)) from fault


def export_reader(
    instrument: InstrumentSettings, places: Places, *, allowed: Permits = NOBODY, stand_in: bool = False
) -> ExportReader:
    """Return the reader of a balancing machine's text.

    Parameters
    ----------
    instrument : InstrumentSettings
        Names the profile.
    places : Places
        For the shop's own profiles.
    allowed : Permits
        Foreign drivers that may run.
    stand_in : bool
        Where a foreign driver that the settings name does not run, return one that reads nothing and says why.

    Returns
    -------
    ExportReader
        Ready.
    """
    try:
        return registry.make_export_reader(instrument.profile, folder=places.profiles, allowed=allowed)
    except registry.DriverError as fault:
        if stand_in and isinstance(fault, PlugInFaultError):
            return ApartReader(None, name=instrument.profile, trouble=str(fault))
        raise RefusedError("balancer", found=str(fault)) from fault


def link_of_scale(
    instrument: InstrumentSettings,
    places: Places,
    sink: LinkSink,
    *,
    clock_ns: Callable[[], int] = time.monotonic_ns,
) -> Link:
    """Return the link of a scale.

    Parameters
    ----------
    instrument : InstrumentSettings
        Address and profile.
    places : Places
        For the shop's own profiles.
    sink : LinkSink
        Where bytes go.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]

    Returns
    -------
    Link
        Not yet started.
    """
    try:
        if instrument.profile not in registry.profile_places("scale", folder=places.profiles):
            # A plug-in that brings its own profile: its port is opened the usual way.
            return port_link(instrument.url, sink, port=PortSettings(), clock_ns=clock_ns)
        profile = registry.scale_profile(instrument.profile, folder=places.profiles)
        return scale_link(instrument.url, sink, profile=profile, clock_ns=clock_ns)
    except (registry.DriverError, AddressError) as fault:
        raise RefusedError("scale", found=str(fault)) from fault


class CapturedPort:
    """A balancing machine's port, and what collects its printed texts.

    Parameters
    ----------
    instrument : InstrumentSettings
        Address and profile.
    places : Places
        For the shop's own profiles.
    on_text : Callable[[ExportText], None]
        Takes each whole text.
    on_change : Callable[[LinkChange], None]
        Takes the link's changes.
    """

    def __init__(
        self,
        instrument: InstrumentSettings,
        places: Places,
        on_text: Callable[[ExportText], None],
        on_change: Callable[[LinkChange], None],
    ) -> None:
        try:
            profile = registry.balancer_profile(instrument.profile, folder=places.profiles)
            mark = profile.end_mark.encode(profile.encoding, "replace")
            self._capture = PortCapture(on_text, name=instrument.url, end_mark=mark, on_change=on_change)
            self._link = port_link(instrument.url, self._capture, port=profile.port)
        except (registry.DriverError, AddressError) as fault:
            raise RefusedError("balancer", found=str(fault)) from fault

    def start(self) -> None:
        """Begin to listen."""
        self._capture.start()
        self._link.start()

    def stop(self) -> None:
        """End; an unfinished text is dropped."""
        self._link.stop()
        self._capture.stop()


def folder_link(
    folder: Path,
    on_text: Callable[[ExportText], None],
    on_change: Callable[[LinkChange], None],
    *,
    clock_ns: Callable[[], int],
    stable_for_s: float,
) -> WatchedFolder:
    """Return what watches a balancing machine's folder.

    Parameters
    ----------
    folder : Path
        Where the machine leaves its texts.
    on_text : Callable[[ExportText], None]
        Takes each whole text.
    on_change : Callable[[LinkChange], None]
        Takes changes, and files that cannot be read.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    stable_for_s : float
        How long a file must rest before it is read. [s]

    Returns
    -------
    WatchedFolder
        Not yet started.
    """

    def trouble(fault: ExportFileError) -> None:
        on_change(LinkChange(at_ns=clock_ns(), state=LinkState.GARBLED, remedy=str(fault)))

    return WatchedFolder(
        folder.expanduser(), on_text, on_trouble=trouble, on_change=on_change, stable_for_s=stable_for_s
    )


def read_text_file(path: Path) -> ExportText:
    """Read one export file with its digest.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    ExportText
        Whole.
    """
    try:
        return read_export_file(path)
    except ExportFileError as fault:
        raise RefusedError(str(path), found=fault.found, wanted=fault.wanted, do=fault.do) from fault


def heard_in_file(path: Path) -> list[LinkItem]:
    """Return what a file holds as it came from a link: one of our recordings, or plain bytes.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    list[LinkItem]
        Bytes and changes of the link, in their order.
    """
    data = read_text_file(path).data
    if not data.startswith(b'{"recording"'):
        return [data]
    try:
        return [item for _, item in read_recording(path)]
    except RecordingError as fault:
        raise RefusedError(str(path), found=str(fault)) from fault


def recording_to(path: Path, onward: LinkSink) -> RecordingSink:
    """Return a sink that writes down what a link delivers, and passes it on.

    Parameters
    ----------
    path : Path
        The file; it must not be there yet.
    onward : LinkSink
        Where everything goes as well.

    Returns
    -------
    RecordingSink
        Call `close` at the end.
    """
    try:
        return RecordingSink(path, onward)
    except OSError as fault:
        do = "name another file" if isinstance(fault, FileExistsError) else "look at the folder's rights"
        raise RefusedError(str(path), found=fault.strerror or str(fault), wanted="a new file", do=do) from fault


def ports_now() -> list[PortSeen]:
    """Return the ports this computer lists, and the USB weighing devices.

    Returns
    -------
    list[PortSeen]
        As they are now.
    """
    return [*ports_seen(), *weighing_devices_seen()]


def port_states(ports: list[PortSeen]) -> list[PortState]:
    """Open each port for a moment, all at once, and say how it is.

    Parameters
    ----------
    ports : list[PortSeen]
        Which.

    Returns
    -------
    list[PortState]
        In the same order.
    """
    return look_at(ports)


def drivers_now(places: Places, settings: Settings) -> list[DriverState]:
    """Try every driver and profile once, and say how each is.

    Parameters
    ----------
    places : Places
        For the shop's own profiles.
    settings : Settings
        Name the plug-ins that may be loaded.

    Returns
    -------
    list[DriverState]
        In a fixed order; the one that fails stops no other.
    """
    return driver_states(folder=places.profiles, allowed=plugins(settings))


def profile_names(places: Places) -> tuple[list[str], list[str]]:
    """Return the profiles of scales and of balancers, our own and the shop's.

    Parameters
    ----------
    places : Places
        Where the shop's own are.

    Returns
    -------
    tuple[list[str], list[str]]
        Scales, balancers.
    """
    return registry.scale_names(folder=places.profiles), registry.balancer_names(folder=places.profiles)

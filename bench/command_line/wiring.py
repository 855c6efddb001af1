"""The only place that names concrete parts: which store, which machine, which links, which drivers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from bench.capture.weigh_machine import WeighMachine
from bench.command_line.certificate_files import certificate_writer
from bench.command_line.desk_thread import DeskThread
from bench.command_line.paced_clock import PacedClock
from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.settings import InstrumentSettings, Settings
from bench.trail.sqlite_store import SqliteTrail
from bench.use_cases.bench_desk import BenchDesk, DeskSettings
from bench.use_cases.errors import RefusedError
from drivers import registry
from drivers.contract import ExportReader, ExportText, Link, LinkChange, LinkSink, LinkState, PortSeen, ScaleDriver
from drivers.links.export_files import ExportFileError, read_export_file
from drivers.links.ports_seen import ports_seen
from drivers.links.serial_link import SerialLink
from drivers.links.watched_folder import WatchedFolder


@dataclass(slots=True)
class RunningBench:
    """A desk with its links, started.

    Attributes
    ----------
    desk : DeskThread
        For faces.
    settings : Settings
        What it was started with.
    clock : PacedClock
        Its clock.
    links : list
        What to stop.
    """

    desk: DeskThread
    settings: Settings
    clock: PacedClock
    links: list[Link | WatchedFolder] = field(default_factory=list[Link | WatchedFolder])

    def disconnect(self) -> None:
        """Stop the links; the desk goes on."""
        for link in self.links:
            link.stop()
        self.links.clear()

    def stop(self) -> None:
        """Stop links first, then the desk, so that nothing handed over is lost."""
        self.disconnect()
        self.desk.stop()


def scale_driver(instrument: InstrumentSettings, places: Places) -> ScaleDriver:
    """Return the driver of a scale.

    Parameters
    ----------
    instrument : InstrumentSettings
        Names the profile.
    places : Places
        For the shop's own profiles.

    Returns
    -------
    ScaleDriver
        Ready to be fed.
    """
    try:
        return registry.make_scale_driver(instrument.profile, folder=places.profiles)
    except registry.DriverError as fault:
        raise RefusedError("scale", found=str(fault)) from fault


def export_reader(instrument: InstrumentSettings, places: Places) -> ExportReader:
    """Return the reader of a balancing machine's text.

    Parameters
    ----------
    instrument : InstrumentSettings
        Names the profile.
    places : Places
        For the shop's own profiles.

    Returns
    -------
    ExportReader
        Ready.
    """
    try:
        return registry.make_export_reader(instrument.profile, folder=places.profiles)
    except registry.DriverError as fault:
        raise RefusedError("balancer", found=str(fault)) from fault


def start_bench(places: Places, settings: Settings, *, pace: float = 1.0, simulated: bool = False) -> RunningBench:
    """Open the record and start the desk; instruments are connected separately.

    Parameters
    ----------
    places : Places
        Where things live.
    settings : Settings
        Instruments' names and profiles, initials.
    pace : float
        How fast the bench's clock runs.
    simulated : bool
        The bench is simulated.

    Returns
    -------
    RunningBench
        Running; call `stop`.
    """
    clock = PacedClock(pace)
    opened: list[SqliteTrail] = []

    def build() -> BenchDesk:
        trail = open_trail(places, settings)
        opened.append(trail)
        return BenchDesk(
            scribe_for(trail, settings, simulated=simulated),
            WeighMachine(),
            DeskSettings(
                scale_name=settings.scale.name,
                balancer_name=settings.balancer.name,
                year=lambda: datetime.now(UTC).year,
                write_certificate=certificate_writer(places),
                simulated=simulated,
            ),
        )

    def close() -> None:
        for trail in opened:
            trail.close()

    desk = DeskThread(
        build,
        close,
        scale_driver=scale_driver(settings.scale, places),
        export_reader=export_reader(settings.balancer, places),
        clock_ns=clock,
    )
    desk.start()
    return RunningBench(desk, settings, clock)


def connect_instruments(
    running: RunningBench,
    places: Places,
    *,
    scale_url: str = "",
    folder: Path | None = None,
    stable_for_s: float = 2.0,
) -> None:
    """Start the links of a running bench; they come back by themselves until `stop`.

    Parameters
    ----------
    running : RunningBench
        The bench.
    places : Places
        For the shop's own profiles.
    scale_url : str
        Device or any pySerial URL; empty for none.
    folder : Path | None
        Where the balancing machine leaves its texts.
    stable_for_s : float
        How long a file must rest before it is read. [s]
    """
    desk, clock = running.desk, running.clock
    links: list[Link | WatchedFolder] = []
    if scale_url:
        port = registry.scale_profile(running.settings.scale.profile, folder=places.profiles).port
        links.append(SerialLink(scale_url, desk, port=port, clock_ns=clock))
    if folder is not None:

        def trouble(fault: ExportFileError) -> None:
            desk.folder_changed(LinkChange(at_ns=clock(), state=LinkState.GARBLED, remedy=str(fault)))

        links.append(
            WatchedFolder(
                folder.expanduser(),
                desk.text_came,
                on_trouble=trouble,
                on_change=desk.folder_changed,
                stable_for_s=stable_for_s,
            )
        )
    for link in links:
        link.start()
    running.links.extend(links)


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


def ports_now() -> list[PortSeen]:
    """Return the ports this computer lists.

    Returns
    -------
    list[PortSeen]
        As they are now.
    """
    return ports_seen()


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


def bare_scale_link(instrument: InstrumentSettings, places: Places, sink: LinkSink) -> SerialLink:
    """Return a scale's link that delivers to a sink, without a desk.

    Parameters
    ----------
    instrument : InstrumentSettings
        URL and profile.
    places : Places
        For the shop's own profiles.
    sink : LinkSink
        Where bytes go.

    Returns
    -------
    SerialLink
        Not yet started.
    """
    try:
        port = registry.scale_profile(instrument.profile, folder=places.profiles).port
    except registry.DriverError as fault:
        raise RefusedError("scale", found=str(fault)) from fault
    return SerialLink(instrument.url, sink, port=port)

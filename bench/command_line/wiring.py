"""The place that names concrete parts: which store, which machine; `instrument_wiring` names links and drivers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from bench.capture.weigh_machine import WeighMachine
from bench.command_line.care_words import care_words
from bench.command_line.certificate_files import certificate_writer
from bench.command_line.checked_profiles import CheckedProfiles
from bench.command_line.desk_thread import DeskThread
from bench.command_line.instrument_wiring import (
    CapturedPort,
    export_reader,
    folder_link,
    link_of_scale,
    plugins,
    ports_now,
    profile_names,
    read_text_file,
    recorded_name,
    scale_driver,
)
from bench.command_line.paced_clock import PacedClock
from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.settings import Settings
from bench.command_line.station_templates import StationTemplates
from bench.command_line.weighing_settings import weigh_rules, weigh_settings
from bench.trail.at_work import AtWork, newest_of
from bench.trail.sqlite_store import SqliteTrail
from bench.use_cases.bench_desk import BenchDesk, DeskSettings
from bench.wall.live_file import LiveWriter
from drivers.contract import LinkChange, LinkState
from drivers.listening import LineWatch

__all__ = [
    "RunningBench",
    "Stoppable",
    "connect_instruments",
    "export_reader",
    "ports_now",
    "profile_names",
    "read_text_file",
    "scale_driver",
    "start_bench",
]


class Stoppable(Protocol):
    """What runs until it is stopped: a link, a watched folder, a port that texts come from."""

    def start(self) -> None:
        """Begin."""
        ...

    def stop(self) -> None:
        """End."""
        ...


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
    wall : LiveWriter
        Shows the bench to a wall screen while one asks.
    links : list
        What to stop.
    marks : list
        What tells the next start that this bench has not ended yet; none where it only looks.
    """

    desk: DeskThread
    settings: Settings
    clock: PacedClock
    wall: LiveWriter
    links: list[Stoppable] = field(default_factory=list[Stoppable])
    marks: list[AtWork] = field(default_factory=list[AtWork])

    def disconnect(self) -> None:
        """Stop the links; the desk goes on."""
        for link in self.links:
            link.stop()
        self.links.clear()

    def stop(self) -> None:
        """Stop links first, then the desk, so that nothing handed over is lost."""
        self.disconnect()
        self.desk.stop()
        self.wall.stop()
        if self.desk.fault is None and self.desk.ended and self.desk.view().ended is None:
            for mark in self.marks:
                mark.end()


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
    marks: list[AtWork] = []

    def build() -> BenchDesk:
        trail = open_trail(places, settings, looking_is_fine=True)
        opened.append(trail)
        ended = None
        if not trail.read_only:
            mark = AtWork(places.record)
            ended = newest_of(trail) if mark.begin() else None
            marks.append(mark)
        return BenchDesk(
            scribe_for(trail, settings, simulated=simulated),
            WeighMachine(settings=weigh_settings(settings.weighing)),
            DeskSettings(
                scale_name=recorded_name("scale", settings.scale, places, plugins(settings)),
                balancer_name=recorded_name("balancer", settings.balancer, places, plugins(settings)),
                year=lambda: datetime.now(UTC).year,
                write_certificate=certificate_writer(places),
                simulated=simulated,
                care=care_words(places, settings, simulated=simulated),
                templates=StationTemplates(places.stations),
                weighing=weigh_rules(settings.weighing, settings.stock),
                profiles=CheckedProfiles(places, settings, lambda reader: desk.read_with(reader)),  # noqa: PLW0108 made below
                ended=ended,
            ),
        )

    def close() -> None:
        for trail in opened:
            trail.close()

    desk = DeskThread(
        build,
        close,
        scale_driver=scale_driver(settings.scale, places, allowed=plugins(settings), stand_in=True),
        export_reader=export_reader(settings.balancer, places, allowed=plugins(settings), stand_in=True),
        clock_ns=clock,
    )
    desk.start()
    wall = LiveWriter(places.live)
    desk.listen(wall.take)
    return RunningBench(desk, settings, clock, wall, marks=marks)


class _ScaleSink:
    """Hands a scale's link on to the desk, and its states to the watch for unreadable lines as well."""

    def __init__(self, desk: DeskThread, watch: LineWatch) -> None:
        self._desk = desk
        self._watch = watch

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        self._desk.bytes_came(chunk, at_ns)

    def link_changed(self, change: LinkChange) -> None:
        if change.state is not LinkState.OPEN:
            self._watch.begin_anew()
        self._desk.link_changed(change)


def connect_instruments(
    running: RunningBench,
    places: Places,
    *,
    scale_url: str = "",
    folder: Path | None = None,
    balancer_url: str = "",
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
        Device, any pySerial URL or another address of `drivers.links.opening`; empty for none.
    folder : Path | None
        Where the balancing machine leaves its texts.
    balancer_url : str
        Where the balancing machine prints its texts to; empty for nowhere.
    stable_for_s : float
        How long a file must rest before it is read. [s]
    """
    desk, clock, settings = running.desk, running.clock, running.settings
    links: list[Stoppable] = []
    if scale_url:
        # Lines that cannot be read are told once an episode, as a state of the link with its remedy.
        watch = LineWatch(desk.link_changed)
        desk.watch_lines(watch.take)
        scale = settings.scale.model_copy(update={"url": scale_url})
        links.append(link_of_scale(scale, places, _ScaleSink(desk, watch), clock_ns=clock))
    if folder is not None:
        links.append(
            folder_link(folder, desk.text_came, desk.folder_changed, clock_ns=clock, stable_for_s=stable_for_s)
        )
    if balancer_url:
        balancer = settings.balancer.model_copy(update={"url": balancer_url})
        links.append(CapturedPort(balancer, places, desk.text_came, desk.folder_changed))
    for link in links:
        link.start()
    running.links.extend(links)

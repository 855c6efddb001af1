"""The desk on a thread of its own: instruments and faces hand things over, views go out, nobody waits for the disk."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable

from bench.command_line.slow_driver import SlowDriver
from bench.use_cases.bench_desk import BenchDesk
from bench.use_cases.commands import Command
from bench.use_cases.view import BenchView, Notice
from drivers.contract import ExportReader, ExportText, LineFault, LinkChange, LinkState, Reading, RunsApart, ScaleDriver

TICK_S = 0.2
VIEWS_PER_S = 60.0
"""Most views a second: every line of a fast scale is shown within its own time on the wire."""
SHOWING_SHARE = 0.25
"""Most of the desk's time that may go into showing: a slow computer shows less often, and never falls behind."""
_ENDS = frozenset({LinkState.LOST, LinkState.ABSENT, LinkState.BUSY, LinkState.FORBIDDEN, LinkState.CLOSED})


class DeskThread:
    """A desk that runs by itself.

    Parameters
    ----------
    build : Callable[[], BenchDesk]
        Makes the desk, on its thread (the record belongs to the thread that opened it).
    close : Callable[[], None]
        Releases what `build` opened, on the same thread.
    scale_driver : ScaleDriver
        Reads the scale's bytes.
    export_reader : ExportReader
        Reads the balancing machine's texts.
    clock_ns : Callable[[], int]
        Monotonic clock, paced on a simulated bench. [ns]
    """

    def __init__(
        self,
        build: Callable[[], BenchDesk],
        close: Callable[[], None],
        *,
        scale_driver: ScaleDriver,
        export_reader: ExportReader,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._build = build
        self._close = close
        self._driver = scale_driver
        self._slow_scale = SlowDriver(scale_driver) if isinstance(scale_driver, RunsApart) else None
        self._slow_reader: SlowDriver | None = None
        self.read_with(export_reader)
        self._clock_ns = clock_ns
        self._items: queue.SimpleQueue[Callable[[BenchDesk], None] | None] = queue.SimpleQueue()
        self._listeners: list[Callable[[BenchView], None]] = []
        self._line_listeners: list[Callable[[Reading | LineFault], None]] = []
        self._view = BenchView()
        self._fault: BaseException | None = None
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._run, name="desk", daemon=True)

    # -- for whoever starts it ------------------------------------------------------------------------------
    def start(self) -> None:
        """Build the desk and begin; what `build` raises is raised here."""
        self._thread.start()
        self._ready.wait()
        if self._fault is not None:
            raise self._fault

    def stop(self) -> None:
        """Work off what was handed over, close the record and end."""
        if self._thread.is_alive():
            for slow in (self._slow_scale, self._slow_reader):
                if slow is not None:
                    slow.stop()
            self._items.put(None)
            self._thread.join(timeout=10.0)

    @property
    def ended(self) -> bool:
        """The thread has ended and the record is released."""
        return not self._thread.is_alive()

    @property
    def fault(self) -> BaseException | None:
        """What ended the thread, when it was not `stop`."""
        return self._fault

    def hear(self, hearer: Callable[[Notice], None]) -> None:
        """Send every sentence to this hearer, in order, on the desk's thread.

        Parameters
        ----------
        hearer : Callable[[Notice], None]
            Takes notices.
        """
        self._items.put(lambda desk: desk.hear(hearer))

    def watch_lines(self, watcher: Callable[[Reading | LineFault], None]) -> None:
        """Send every line of the scale to this watcher, on the desk's thread.

        Parameters
        ----------
        watcher : Callable[[Reading | LineFault], None]
            Takes readings and line faults.
        """
        self._line_listeners.append(watcher)

    def read_with(self, reader: ExportReader) -> None:
        """Read the balancing machine's texts with another reader from now on; called on the desk's own thread.

        Parameters
        ----------
        reader : ExportReader
            The new one.
        """
        if self._slow_reader is not None:
            self._slow_reader.stop()
        self._reader = reader
        self._slow_reader = SlowDriver(reader) if isinstance(reader, RunsApart) else None

    # -- the Desk that faces know ---------------------------------------------------------------------------
    def listen(self, listener: Callable[[BenchView], None]) -> None:
        """Send every new view to this listener, from the desk's thread.

        Parameters
        ----------
        listener : Callable[[BenchView], None]
            Takes views; at most sixty a second.
        """
        self._listeners.append(listener)
        listener(self._view)

    def ask(self, command: Command) -> None:
        """Hand a command over; returns at once.

        Parameters
        ----------
        command : Command
            What a person asked.
        """
        self._items.put(lambda desk: desk.handle(command))

    def view(self) -> BenchView:
        """Return the latest view.

        Returns
        -------
        BenchView
            As last published.
        """
        return self._view

    # -- the sinks that links know --------------------------------------------------------------------------
    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        """Take bytes of the scale.

        Parameters
        ----------
        chunk : bytes
            As they came.
        at_ns : int
            Moment of arrival. [ns]
        """
        if self._slow_scale is not None:
            self._slow_scale.put(lambda: self._ask_slow_scale(chunk, at_ns))
        else:
            self._items.put(lambda desk: self._hand_on(desk, self._driver.feed(chunk, at_ns)))

    def link_changed(self, change: LinkChange) -> None:
        """Take a change of the scale's link.

        Parameters
        ----------
        change : LinkChange
            The new state.
        """
        slow = self._slow_scale

        def lose() -> None:
            if change.state in _ENDS:
                self._driver.link_lost()

        def act(desk: BenchDesk) -> None:
            lose()
            desk.scale_says(change)

        def act_slowly() -> None:
            lose()
            told = slow.state_now(change) if slow else change
            self._items.put(lambda desk: desk.scale_says(told))

        if slow is None:
            self._items.put(act)
        else:
            slow.put(act_slowly)

    def text_came(self, text: ExportText) -> None:
        """Take a text of the balancing machine.

        Parameters
        ----------
        text : ExportText
            Whole.
        """
        if self._slow_reader is None:
            self._items.put(lambda desk: desk.balancer_says(self._reader.read(text.data), text))
            return
        reader = self._reader

        def ask() -> None:
            runs = reader.read(text.data)
            self._items.put(lambda desk: desk.balancer_says(runs, text))

        self._slow_reader.put(ask)

    def folder_changed(self, change: LinkChange) -> None:
        """Take a change of the balancer's folder.

        Parameters
        ----------
        change : LinkChange
            The new state.
        """
        self._items.put(lambda desk: desk.balancer_link(change))

    # -- inside ---------------------------------------------------------------------------------------------
    def _ask_slow_scale(self, chunk: bytes, at_ns: int) -> None:
        lines = self._driver.feed(chunk, at_ns)
        if lines:
            self._items.put(lambda desk: self._hand_on(desk, lines))
        ended = self._slow_scale.end_to_tell(at_ns) if self._slow_scale else None
        if ended is not None:
            self._items.put(lambda desk: desk.scale_says(ended))

    def _hand_on(self, desk: BenchDesk, lines: list[Reading | LineFault]) -> None:
        for item in lines:
            for watcher in self._line_listeners:
                watcher(item)
            desk.scale_says(item)

    def _run(self) -> None:
        try:
            desk = self._build()
        except BaseException as fault:  # noqa: BLE001 handed to whoever called start
            self._fault = fault
            self._ready.set()
            return
        self._publish(desk)
        self._ready.set()
        try:
            self._work(desk)
        except BaseException as fault:  # noqa: BLE001 kept for the face to tell; the record is whole
            self._fault = fault
        finally:
            self._close()

    def _work(self, desk: BenchDesk) -> None:
        next_s, changed = 0.0, False
        ticked_at = time.monotonic()
        while True:
            wait = max(0.0, next_s - time.monotonic()) if changed else TICK_S
            try:
                item = self._items.get(timeout=max(wait, 0.001))
            except queue.Empty:
                item = None
            else:
                if item is None:
                    self._publish(desk)
                    return
                item(desk)
                changed = True
            now = time.monotonic()
            if now - ticked_at >= TICK_S:
                ticked_at = now
                desk.tick(self._clock_ns())
                changed = True
            if changed and now >= next_s:
                changed = False
                if self._publish(desk):
                    next_s = now + max(1.0 / VIEWS_PER_S, (time.monotonic() - now) / SHOWING_SHARE)

    def _publish(self, desk: BenchDesk) -> bool:
        view = desk.view()
        if view == self._view:
            return False
        self._view = view
        for listener in self._listeners:
            listener(view)
        return True

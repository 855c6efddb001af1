"""Any pySerial URL as a link: a thread that opens, reads, and opens again when the instrument is back.

Facts it is built on: a port whose device went away raises OSError in more than one dress; bytes wait for nobody, so
only what is there is read; two programs could share a port without noticing, so it is opened exclusively.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

import serial

from drivers.contract import LinkChange, LinkSink, LinkState
from drivers.links.port_errors import REMEDIES, state_of_error
from drivers.links.silence import SilenceWatch
from drivers.links.waiting_read import reader_of
from drivers.profile import PortSettings
from drivers.showing import plain_words

_PARITY = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}
_READ_TIMEOUT_S = 0.5
_WRITE_TIMEOUT_S = 1.0
_STOP_WAIT_S = 0.8
_SOCKET_CHUNK = 4096


@dataclass(frozen=True, slots=True)
class Patience:
    """How long a link waits, and for what.

    Attributes
    ----------
    first_retry_s : float
        Wait before the second try to open; doubled each time. [s]
    last_retry_s : float
        Longest wait between tries. [s]
    silent_after_s : float | None
        Quiet time after which the instrument counts as silent; None when silence means nothing. [s]
    reopen_after_s : float
        Quiet time after which a network connection is opened anew, because a half-open one never tells. [s]
    """

    first_retry_s: float = 0.1
    last_retry_s: float = 2.0
    silent_after_s: float | None = 3.0
    reopen_after_s: float = 10.0


class SerialLink:
    """Carries the bytes of one instrument.

    Parameters
    ----------
    url : str | Callable[[], str]
        Device name, COMn, ``socket://``, ``rfc2217://`` or ``loop://``; or what finds it anew before each try,
        for an instrument that is known by its USB identity. Finding may raise OSError.
    sink : LinkSink
        Where bytes and changes go, called from the link's own threads and never by two at once.
    port : PortSettings | None
        How the port is opened.
    patience : Patience | None
        How long to wait, and for what.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    def __init__(
        self,
        url: str | Callable[[], str],
        sink: LinkSink,
        *,
        port: PortSettings | None = None,
        patience: Patience | None = None,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._find: Callable[[], str] = url if callable(url) else lambda: url
        self._sink = sink
        self._settings = port or PortSettings()
        self._patience = patience or Patience()
        self._clock_ns = clock_ns
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None
        self._port: serial.Serial | None = None
        self._telling = threading.Lock()
        self._state = LinkState.CLOSED
        silent_after_s = None if self._settings.quiet_is_normal else self._patience.silent_after_s
        self._watch = SilenceWatch(silent_after_s, self._went_silent, clock_ns=clock_ns)

    @property
    def state(self) -> LinkState:
        """The state told last."""
        return self._state

    def start(self) -> None:
        """Begin to open and read; a second start while running does nothing."""
        if self._thread is not None:
            return
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(self._stopping,), name="serial link", daemon=True)
        self._watch.start()
        self._thread.start()

    def send(self, data: bytes) -> None:
        """Write to the instrument; dropped while the port is not open.

        Parameters
        ----------
        data : bytes
            What to write.
        """
        port = self._port
        if port is None:
            return
        try:
            port.write(data)
        except (OSError, ValueError):
            # The reading side meets the same trouble and tells of it.
            return

    def stop(self) -> None:
        """End the thread and close the port; returns within a second even when a read hangs."""
        thread, self._thread = self._thread, None
        if thread is None:
            return
        self._stopping.set()
        self._watch.stop()
        port = self._port
        cancel: Callable[[], None] | None = getattr(port, "cancel_read", None)
        if cancel is not None:
            # A port that is just closing needs no waking.
            with suppress(OSError, AttributeError, TypeError):
                cancel()
        if thread is not threading.current_thread():
            thread.join(_STOP_WAIT_S)
        self._port = None
        self._tell(LinkState.CLOSED)

    def restart(self) -> None:
        """Leave a reader that hangs behind and begin again with a new one."""
        self.stop()
        self.start()

    def _run(self, stopping: threading.Event) -> None:
        wait_s = self._patience.first_retry_s
        while not stopping.is_set():
            try:
                port = self._open()
            except Exception as error:  # noqa: BLE001 - handlers of URLs raise what they like, and the link must go on
                self._tell(state_of_error(error, was_open=False), str(error), stopping)
                stopping.wait(wait_s)
                wait_s = min(2 * wait_s, self._patience.last_retry_s)
                continue
            wait_s = self._patience.first_retry_s
            self._port = port
            self._tell(LinkState.OPEN, "", stopping)
            try:
                self._read(port, stopping)
            except Exception as error:  # noqa: BLE001 - OSError in many dresses, TypeError from a closed descriptor
                self._tell(LinkState.LOST, str(error), stopping)
            finally:
                if self._port is port:
                    self._port = None
                _close(port)

    def _open(self) -> serial.Serial:
        settings = self._settings
        port = serial.serial_for_url(self._find(), do_not_open=True)
        port.baudrate = settings.baud
        port.bytesize = settings.bits
        port.parity = _PARITY[settings.parity]
        port.stopbits = settings.stop_bits
        port.rtscts = settings.flow == "hardware"
        port.xonxoff = settings.flow == "software"
        port.timeout = min(_READ_TIMEOUT_S, settings.ask_every_s) if settings.ask else _READ_TIMEOUT_S
        if not type(port).__module__.endswith("rfc2217"):
            # RFC 2217 ports refuse to be told.
            port.write_timeout = _WRITE_TIMEOUT_S
        if hasattr(port, "exclusive"):
            port.exclusive = True
        port.open()
        return port

    def _read(self, port: serial.Serial, stopping: threading.Event) -> None:
        at_once = reader_of(port)
        wait_s = port.timeout or _READ_TIMEOUT_S
        is_socket = type(port).__module__.endswith("protocol_socket")
        is_network = is_socket or type(port).__module__.endswith("rfc2217")
        question, pause_ns = self._settings.ask_bytes, int(self._settings.ask_every_s * 1e9)
        asked_ns = self._clock_ns() - pause_ns
        heard_ns = self._clock_ns()
        reopen_ns = int(self._patience.reopen_after_s * 1e9)
        self._watch.heard()
        while not stopping.is_set():
            if question and self._clock_ns() - asked_ns >= pause_ns:
                asked_ns = self._clock_ns()
                port.write(question)
            chunk: bytes = at_once(wait_s) if at_once else port.read(1)
            if chunk:
                heard_ns = self._clock_ns()
                if at_once:
                    self._deliver(chunk, heard_ns, stopping)
                else:
                    self._take_rest(port, chunk, heard_ns, stopping, is_socket=is_socket)
            elif is_network and self._watch.active and self._clock_ns() - heard_ns > reopen_ns:
                raise OSError(f"nothing heard for {self._patience.reopen_after_s:g} s, connecting anew")

    def _take_rest(
        self, port: serial.Serial, first: bytes, at_ns: int, stopping: threading.Event, *, is_socket: bool
    ) -> None:
        """Deliver a byte with everything that waits behind it, or alone when the port is just going away."""
        rest = b""
        try:
            if is_socket:
                # Over a socket the number of waiting bytes is not told, so that what is there is read without waiting.
                timeout, port.timeout = port.timeout, 0
                try:
                    rest = port.read(_SOCKET_CHUNK)
                finally:
                    port.timeout = timeout
            else:
                waiting = port.in_waiting
                rest = port.read(waiting) if waiting else b""
        finally:
            self._deliver(first + rest, at_ns, stopping)

    def _deliver(self, chunk: bytes, at_ns: int, stopping: threading.Event) -> None:
        self._watch.heard()
        with self._telling:
            if stopping.is_set():
                return
            if self._state is not LinkState.OPEN:
                self._say(LinkState.OPEN, "")
            self._sink.bytes_came(chunk, at_ns)

    def _went_silent(self) -> None:
        with self._telling:
            if self._state is LinkState.OPEN:
                self._say(LinkState.SILENT, "")

    def _tell(self, state: LinkState, detail: str = "", stopping: threading.Event | None = None) -> None:
        """Tell a change once; a reader that was left behind tells nothing."""
        # A sink that hangs must not hang stop() as well.
        if not self._telling.acquire(timeout=_STOP_WAIT_S):
            return
        try:
            if state is not self._state and not (stopping is not None and stopping.is_set()):
                self._say(state, detail)
        finally:
            self._telling.release()

    def _say(self, state: LinkState, detail: str) -> None:
        self._state = state
        self._sink.link_changed(LinkChange(self._clock_ns(), state, plain_words(detail), REMEDIES[state]))


def _close(port: serial.Serial) -> None:
    try:
        port.close()
    except (OSError, ValueError, TypeError):
        # The device is gone; there is nothing left to close.
        return

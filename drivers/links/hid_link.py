"""A USB weighing device as a link; needs the extra ``hid``."""

from __future__ import annotations

import importlib
import threading
import time
from collections.abc import Callable
from typing import Protocol, cast

from drivers.contract import LinkChange, LinkSink, LinkState
from drivers.links.port_errors import REMEDIES, state_of_error

_READ_TIMEOUT_MS = 500
_REPORT_CAP = 64
_STOP_WAIT_S = 0.8
_FIRST_RETRY_S = 0.1
_LAST_RETRY_S = 2.0


class HidDevice(Protocol):
    """What is needed of an opened device."""

    def read(self, max_length: int, timeout_ms: int = 0) -> list[int]:
        """Return the next report, or nothing when the time is over."""
        ...

    def close(self) -> None:
        """Close it."""
        ...


def open_weighing_device(*, vendor: int, product: int, serial_number: str = "") -> HidDevice:
    """Open a device by its USB identity.

    Parameters
    ----------
    vendor : int
        USB vendor number.
    product : int
        USB product number.
    serial_number : str
        Serial number; empty for any.

    Returns
    -------
    HidDevice
        The opened device.

    Raises
    ------
    OSError
        If the extra is not installed or the device cannot be opened.
    """
    try:
        hid = importlib.import_module("hid")
    except ImportError as error:
        raise OSError("the part for USB weighing devices is missing: install spinledger[hid]") from error
    device = hid.device()
    device.open(vendor, product, serial_number or None)
    return cast("HidDevice", device)


class HidLink:
    """Carries the reports of a USB weighing device, and opens it again when it is back.

    Parameters
    ----------
    open_device : Callable[[], HidDevice]
        Opens the device; may raise OSError.
    sink : LinkSink
        Where reports and changes go, from the link's own thread.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    def __init__(
        self,
        open_device: Callable[[], HidDevice],
        sink: LinkSink,
        *,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._open_device = open_device
        self._sink = sink
        self._clock_ns = clock_ns
        self._state = LinkState.CLOSED
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to open and read."""
        if self._thread is None:
            self._stopping = threading.Event()
            args = (self._stopping,)
            self._thread = threading.Thread(target=self._run, args=args, name="hid link", daemon=True)
            self._thread.start()

    def send(self, data: bytes) -> None:
        """Do nothing: a weighing device speaks by itself.

        Parameters
        ----------
        data : bytes
            Dropped.
        """

    def stop(self) -> None:
        """End the thread; returns within a second even when a read hangs."""
        thread, self._thread = self._thread, None
        if thread is None:
            return
        self._stopping.set()
        thread.join(_STOP_WAIT_S)
        self._tell(LinkState.CLOSED)

    def _run(self, stopping: threading.Event) -> None:
        wait_s = _FIRST_RETRY_S
        while not stopping.is_set():
            try:
                device = self._open_device()
            except (OSError, ValueError) as error:
                if not stopping.is_set():
                    self._tell(state_of_error(error, was_open=False), str(error))
                stopping.wait(wait_s)
                wait_s = min(2 * wait_s, _LAST_RETRY_S)
                continue
            wait_s = _FIRST_RETRY_S
            try:
                self._read(device, stopping)
            except (OSError, ValueError) as error:
                if not stopping.is_set():
                    self._tell(LinkState.LOST, str(error))
            finally:
                device.close()

    def _read(self, device: HidDevice, stopping: threading.Event) -> None:
        self._tell(LinkState.OPEN)
        while not stopping.is_set():
            report = device.read(_REPORT_CAP, _READ_TIMEOUT_MS)
            if report and not stopping.is_set():
                self._sink.bytes_came(bytes(report), self._clock_ns())

    def _tell(self, state: LinkState, detail: str = "") -> None:
        if state is not self._state:
            self._state = state
            self._sink.link_changed(LinkChange(self._clock_ns(), state, detail, REMEDIES[state]))

"""What links to a device that a library opens share: a thread of their own, and opening it again when it is back."""

from __future__ import annotations

import threading
import time
from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import ClassVar, Generic, Protocol, TypeVar

from drivers.contract import LinkChange, LinkSink, LinkState
from drivers.links.port_errors import REMEDIES, state_of_error

_STOP_WAIT_S = 0.8
_FIRST_RETRY_S = 0.1
_LAST_RETRY_S = 2.0
_LONGEST_DETAIL = 200


class Closable(Protocol):
    """What is needed of any opened device."""

    def close(self) -> None:
        """Close it."""
        ...


Device = TypeVar("Device", bound=Closable)


class DeviceLink(ABC, Generic[Device]):
    """Opens a device, reads it in a thread of its own, and opens it again with doubling pauses after it was lost.

    Parameters
    ----------
    open_device : Callable[[], Device]
        Opens the device; may raise OSError or ValueError.
    sink : LinkSink
        Where bytes and changes go, from the link's own thread.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    thread_name: ClassVar[str] = "device link"

    def __init__(
        self,
        open_device: Callable[[], Device],
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

    @abstractmethod
    def _read(self, device: Device, stopping: threading.Event) -> None:
        """Read until it is to stop; an OSError or ValueError means that the device is lost."""

    def start(self) -> None:
        """Begin to open and read."""
        if self._thread is None:
            self._stopping = threading.Event()
            args = (self._stopping,)
            self._thread = threading.Thread(target=self._run, args=args, name=self.thread_name, daemon=True)
            self._thread.start()

    def send(self, data: bytes) -> None:
        """Do nothing: such a device is only read.

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
                self._tell(LinkState.OPEN)
                self._read(device, stopping)
            except (OSError, ValueError) as error:
                if not stopping.is_set():
                    self._tell(LinkState.LOST, str(error))
                stopping.wait(wait_s)
            finally:
                device.close()

    def _tell(self, state: LinkState, detail: str = "") -> None:
        if state is not self._state:
            self._state = state
            self._sink.link_changed(LinkChange(self._clock_ns(), state, detail[:_LONGEST_DETAIL], REMEDIES[state]))

"""A USB weighing device as a link; needs the extra ``hid``."""

from __future__ import annotations

import importlib
import threading
from typing import Protocol, cast

from drivers.links.device_link import DeviceLink

_READ_TIMEOUT_MS = 500
_REPORT_CAP = 64


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


class HidLink(DeviceLink[HidDevice]):
    """Carries the reports of a USB weighing device, and opens it again when it is back."""

    thread_name = "hid link"

    def _read(self, device: HidDevice, stopping: threading.Event) -> None:
        while not stopping.is_set():
            report = device.read(_REPORT_CAP, _READ_TIMEOUT_MS)
            if report and not stopping.is_set():
                self._sink.bytes_came(bytes(report), self._clock_ns())

"""A USB weighing device: read, lost and found again."""

from __future__ import annotations

import time

import pytest

from drivers.contract import LinkState, Reading
from drivers.links.hid_link import HidLink, open_weighing_device
from drivers.registry import make_scale_driver
from tests.drivers.links.ears import Ears


class FakeHid:
    def __init__(self, reports: list[list[int]], error: Exception | None = None) -> None:
        self._reports, self._error = reports, error
        self.closed = False

    def read(self, max_length: int, timeout_ms: int = 0) -> list[int]:
        if self._reports:
            return self._reports.pop(0)
        if self._error is not None:
            raise self._error
        time.sleep(0.01)
        return []

    def close(self) -> None:
        self.closed = True


def test_a_weighing_device_is_read_lost_and_found() -> None:
    devices = [FakeHid([[3, 4, 2, 0xFF, 0x96, 0x17]], OSError("read error")), FakeHid([[3, 3, 2, 0xFF, 0x96, 0x17]])]
    tries: list[int] = []

    def open_device() -> FakeHid:
        tries.append(1)
        if len(tries) == 2:
            raise OSError("open failed")
        return devices[min(len(tries) - 1, 2) // 2]

    ears = Ears()
    link = HidLink(open_device, ears)
    link.start()
    assert ears.wait(lambda: len(ears.data) == 12)
    link.send(b"")
    link.stop()
    link.stop()
    assert ears.states == [LinkState.OPEN, LinkState.LOST, LinkState.ABSENT, LinkState.OPEN, LinkState.CLOSED]
    readings = make_scale_driver("hid-weighing").feed(bytes(ears.data), 1)
    assert [(str(r.value), r.steady) for r in readings if isinstance(r, Reading)] == [("603.8", True), ("603.8", False)]
    assert devices[0].closed


def test_a_weighing_device_that_is_not_there() -> None:
    pytest.importorskip("hid")
    with pytest.raises(OSError, match="open failed"):
        open_weighing_device(vendor=0xFFFF, product=0xFFFE)

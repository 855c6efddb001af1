"""What goes wrong with a port: each error a state with a remedy, and a reader that hangs."""

from __future__ import annotations

import itertools
import os
import statistics
import sys
import threading
import time
from pathlib import Path

import pytest
import serial
import serial.rfc2217

from drivers.contract import LinkState
from drivers.links.port_errors import REMEDIES, state_of_error
from drivers.links.ports_seen import PortNotFoundError
from drivers.links.serial_link import Patience, SerialLink
from tests.drivers.links.ears import Ears, until

posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are a POSIX thing")
QUICK = Patience(first_retry_s=0.02, last_retry_s=0.1, silent_after_s=0.4, reopen_after_s=0.8)


@posix
@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may open everything")
def test_a_forbidden_port(tmp_path: Path) -> None:
    pytest.importorskip("pty")
    path = tmp_path / "port"
    path.touch(mode=0)
    ears = Ears()
    link = SerialLink(str(path), ears, patience=QUICK)
    link.start()
    assert ears.wait_state(LinkState.FORBIDDEN)
    link.stop()


def test_an_absent_port_is_told_once_and_found_later(tmp_path: Path) -> None:
    ears = Ears()
    link = SerialLink(str(tmp_path / "nothing"), ears, patience=QUICK)
    link.start()
    assert ears.wait_state(LinkState.ABSENT)
    time.sleep(0.3)
    assert ears.states == [LinkState.ABSENT]
    assert "finds it by itself" in ears.changes[0].remedy
    link.send(b"dropped")
    link.stop()


@pytest.mark.parametrize(
    ("error", "was_open", "state"),
    [
        (serial.SerialException("device reports readiness to read but returned no data"), True, LinkState.LOST),
        (serial.SerialException("ClearCommError failed (OSError(9, 'x', None, 6))"), True, LinkState.LOST),
        (OSError(5, "Input/output error"), True, LinkState.LOST),
        (OSError(22, "The device does not recognize the command"), True, LinkState.LOST),
        (TypeError("argument must be an int"), True, LinkState.LOST),
        (serial.SerialException(2, "could not open port"), False, LinkState.ABSENT),
        (
            serial.SerialException("could not open port 'COM7': FileNotFoundError(2, 'x', None, 2)"),
            False,
            LinkState.ABSENT,
        ),
        (
            serial.SerialException("could not open port 'COM7': PermissionError(13, 'Access is denied.', None, 5)"),
            False,
            LinkState.BUSY,
        ),
        (serial.SerialException(11, "Could not exclusively lock port"), False, LinkState.BUSY),
        (OSError(16, "Device or resource busy"), False, LinkState.BUSY),
        (serial.SerialException(13, "could not open port: [Errno 13] Permission denied"), False, LinkState.FORBIDDEN),
        (OSError(19, "No such device"), False, LinkState.ABSENT),
        (ConnectionRefusedError(111, "Connection refused"), False, LinkState.ABSENT),
        (ValueError("invalid URL"), False, LinkState.ABSENT),
        (PortNotFoundError("x"), False, LinkState.ABSENT),
    ],
)
def test_every_error_means_a_state_with_a_remedy(error: Exception, was_open: object, state: LinkState) -> None:
    assert state_of_error(error, was_open=bool(was_open)) is state
    assert REMEDIES[state]


class FakePort:
    """A port whose read does what a test wants."""

    def __init__(self, error: Exception | None = None, stuck: threading.Event | None = None) -> None:
        self.in_waiting = 0
        self.exclusive = False
        self._error = error
        self._stuck = stuck

    def open(self) -> None:
        pass

    def close(self) -> None:
        raise OSError(5, "gone")

    def read(self, size: int) -> bytes:
        if self._stuck is not None:
            self._stuck.wait(30)
            return b""
        if self._error is not None:
            raise self._error
        return b""

    def write(self, data: bytes) -> int:
        raise OSError(5, "gone")


@pytest.mark.parametrize(
    "error",
    [
        serial.SerialException("device reports readiness to read but returned no data"),
        serial.SerialException("ClearCommError failed"),
        serial.SerialException("WriteFile failed (PermissionError(13, 'x', None, 22))"),
        OSError(5, "Input/output error"),
        OSError(9, "Bad file descriptor"),
        TypeError("an integer is required"),
        ValueError("file descriptor cannot be a negative integer"),
    ],
)
def test_every_reading_error_means_lost_and_not_the_end(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    ears = Ears()
    monkeypatch.setattr(serial, "serial_for_url", lambda *_, **__: FakePort(error))
    link = SerialLink("fake", ears, patience=QUICK)
    link.start()
    assert ears.wait(lambda: ears.states.count(LinkState.LOST) >= 3)
    link.stop()


def test_a_stuck_reader_is_silent_restarts_and_never_hangs_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    ears = Ears()
    release = threading.Event()
    monkeypatch.setattr(serial, "serial_for_url", lambda *_, **__: FakePort(stuck=release))
    link = SerialLink("fake", ears, patience=QUICK)
    link.start()
    assert ears.wait_state(LinkState.SILENT, 2.0)
    begun = time.monotonic()
    link.restart()
    assert time.monotonic() - begun < 1.0
    assert ears.wait_state(LinkState.SILENT, 2.0)
    link.send(b"x")
    begun = time.monotonic()
    link.stop()
    assert time.monotonic() - begun < 1.0
    release.set()


def test_the_wait_between_tries_doubles(monkeypatch: pytest.MonkeyPatch) -> None:
    tries: list[float] = []

    def refuse() -> str:
        tries.append(time.monotonic())
        raise OSError(2, "nothing there")

    link = SerialLink(refuse, Ears(), patience=Patience(first_retry_s=0.05, last_retry_s=0.2))
    link.start()
    assert until(lambda: len(tries) >= 6)
    link.stop()
    waits = [b - a for a, b in itertools.pairwise(tries)]
    assert waits[0] < waits[1] < waits[2]
    assert statistics.mean(waits[3:5]) == pytest.approx(0.2, rel=0.5)

"""Links over the network: TCP lost and half open, RFC 2217, loop."""

from __future__ import annotations

import socket
import threading
import time

import pytest
import serial
import serial.rfc2217

from drivers.contract import LinkState
from drivers.links.serial_link import Patience, SerialLink
from drivers.profile import PortSettings
from tests.drivers.links.ears import Ears

QUICK = Patience(first_retry_s=0.02, last_retry_s=0.1, silent_after_s=0.4, reopen_after_s=0.8)


def test_tcp_lost_and_back_without_losing_what_came() -> None:
    server = socket.create_server(("127.0.0.1", 0))
    ears = Ears()
    link = SerialLink(f"socket://127.0.0.1:{server.getsockname()[1]}", ears, patience=QUICK)
    link.start()
    for turn in range(5):
        connection, _ = server.accept()
        assert ears.wait_state(LinkState.OPEN)
        time.sleep(0.02)
        connection.sendall(b"line %d;" % turn)
        connection.close()
        assert ears.wait_bytes(b"line %d;" % turn), ears.data
        assert ears.wait(lambda before=turn: ears.states.count(LinkState.LOST) > before)
    link.stop()
    server.close()


def test_half_open_tcp_is_silent_and_connects_anew() -> None:
    server = socket.create_server(("127.0.0.1", 0))
    ears = Ears()
    link = SerialLink(f"socket://127.0.0.1:{server.getsockname()[1]}", ears, patience=QUICK)
    link.start()
    first, _ = server.accept()
    assert ears.wait(lambda: LinkState.SILENT in ears.states)
    second, _ = server.accept()
    assert ears.wait(lambda: ears.states.count(LinkState.OPEN) == 2)
    second.sendall(b"here again")
    assert ears.wait_bytes(b"here again")
    link.stop()
    for each in (first, second, server):
        each.close()


@pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning")
def test_rfc2217_against_the_library_s_own_server() -> None:
    """RFC 2217, Telnet COM port control option; the server is pySerial's PortManager over loop://."""
    device = serial.serial_for_url("loop://", timeout=0.05)
    server = socket.create_server(("127.0.0.1", 0))
    stop = threading.Event()

    def serve() -> None:
        connection, _ = server.accept()
        connection.settimeout(0.02)

        class Wire:
            def write(self, data: bytes) -> None:
                connection.sendall(data)

        manager = serial.rfc2217.PortManager(device, Wire())
        while not stop.is_set():
            try:
                data = connection.recv(1024)
                if not data:
                    break
                device.write(b"".join(manager.filter(data)))
            except TimeoutError:
                pass
            back = device.read(device.in_waiting)
            if back:
                connection.sendall(b"".join(manager.escape(back)))
        connection.close()

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    ears = Ears()
    port = PortSettings(baud=4800, parity="even", bits=7)
    link = SerialLink(f"rfc2217://127.0.0.1:{server.getsockname()[1]}", ears, port=port, patience=QUICK)
    link.start()
    assert ears.wait_state(LinkState.OPEN, 10.0)
    assert (device.baudrate, device.parity, device.bytesize) == (4800, "E", 7)
    payload = b"wt +00603.8 g still\xff\r\n"
    link.send(payload)
    assert ears.wait_bytes(payload)
    begun = time.monotonic()
    link.stop()
    assert time.monotonic() - begun < 1.0
    stop.set()
    thread.join(2.0)
    server.close()
    device.close()


def test_a_loop_link_and_a_link_stopped_before_it_began() -> None:
    ears = Ears()
    link = SerialLink("loop://", ears, port=PortSettings(flow="hardware"), patience=QUICK)
    link.stop()
    link.start()
    assert ears.wait_state(LinkState.OPEN)
    link.send(b"round")
    assert ears.wait_bytes(b"round")
    link.stop()

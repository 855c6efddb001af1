"""Modbus over loopback TCP against a device written here from the published frame, byte by byte."""

from __future__ import annotations

import socket
import struct
import threading
import time

import pytest

from drivers.checks import check_value
from drivers.contract import Condition, LinkState, Reading
from drivers.links.modbus_link import ModbusLink, connect_registers
from drivers.profile import parse_profile
from drivers.registry import make_scale_driver, scale_profile
from drivers.scales.modbus_register import ModbusRegisterScale
from drivers.scales.scale_profile import ScaleProfile
from tests.drivers.links.ears import Ears
from tests.drivers.samples import answered


class Device:
    """Answers function 3: transaction, protocol 0, length, unit, function, byte count, registers."""

    def __init__(self, registers: bytes) -> None:
        self.registers = registers
        self.mute = False
        self.refuse = False
        self.asked: list[tuple[int, int, int, int]] = []
        self._server = socket.create_server(("127.0.0.1", 0))
        self.url = f"tcp://127.0.0.1:{self._server.getsockname()[1]}"
        self._connections: list[socket.socket] = []
        self._thread = threading.Thread(target=self._accept, daemon=True)
        self._thread.start()

    def _accept(self) -> None:
        while True:
            try:
                connection, _ = self._server.accept()
            except OSError:
                return
            self._connections.append(connection)
            threading.Thread(target=self._serve, args=(connection,), daemon=True).start()

    def _serve(self, connection: socket.socket) -> None:
        while True:
            try:
                ask = connection.recv(12)
            except OSError:
                return
            if len(ask) < 12:
                return
            number, _, _, unit, function, start, count = struct.unpack(">HHHBBHH", ask)
            self.asked.append((unit, function, start, count))
            if self.mute:
                continue
            body = (
                bytes([unit, function | 0x80, 2])
                if self.refuse
                else bytes([unit, function, len(self.registers)]) + self.registers
            )
            connection.sendall(struct.pack(">HHH", number, 0, len(body)) + body)

    def drop(self) -> None:
        for connection in self._connections:
            connection.shutdown(socket.SHUT_RDWR)
            connection.close()
        self._connections.clear()

    def close(self) -> None:
        self._server.close()
        self.drop()


def test_registers_are_read_lost_and_read_again() -> None:
    pytest.importorskip("pymodbus")
    profile = scale_profile("modbus-register")
    device = Device(bytes([0x00, 0x00, 0x17, 0x96, 0x00, 0x01]))
    ears = Ears()
    link = ModbusLink(lambda: connect_registers(device.url, profile), profile, ears)
    link.start()
    assert ears.wait_bytes(answered(device.registers) * 2)
    assert device.asked[0] == (1, 3, 100, 3)
    (first, *_) = make_scale_driver("modbus-register").feed(bytes(ears.data), 1)
    assert isinstance(first, Reading)
    assert (str(first.value), first.steady) == ("603.8", True)
    device.drop()
    assert ears.wait(lambda: ears.states.count(LinkState.OPEN) >= 2), ears.changes
    device.mute = True
    assert ears.wait_state(LinkState.SILENT, 8.0) or LinkState.LOST in ears.states
    device.mute, device.refuse = False, True
    assert ears.wait(lambda: any("refuses" in change.detail for change in ears.changes), 8.0), ears.changes
    link.send(b"")
    begun = time.monotonic()
    link.stop()
    link.stop()
    assert time.monotonic() - begun < 1.0
    device.close()


def test_a_device_that_is_not_there() -> None:
    pytest.importorskip("pymodbus")
    profile = scale_profile("modbus-register")
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    ears = Ears()
    link = ModbusLink(lambda: connect_registers(f"tcp://127.0.0.1:{port}", profile), profile, ears)
    link.start()
    assert ears.wait_state(LinkState.ABSENT)
    link.stop()
    with pytest.raises(OSError, match="no connection"):
        connect_registers("/nonexistent/port", profile)


def test_the_check_of_the_standard() -> None:
    # Check value of CRC-16/MODBUS over "123456789" in the public catalogue of parametrised CRC algorithms: 0x4B37.
    assert check_value(b"123456789", "crc16 modbus") == 0x4B37


PROFILE = b"""name = "m"
driver = "modbus-register"
unit = "kg"
numbers = { decimal = "." }
modbus = { address = 1, register_number = 0, number = "%s", places = 3, low_word_first = %s }
"""


@pytest.mark.parametrize(
    ("number", "low_first", "registers", "value"),
    [
        (b"int16", b"false", bytes([0xFF, 0xFE]), "-0.002"),
        (b"int32", b"true", bytes([0x86, 0xA0, 0x00, 0x01]), "100.000"),
        (b"float32", b"false", struct.pack(">f", 1.5), "1.500"),
        (b"float32", b"true", struct.pack(">f", 1.5)[2:] + struct.pack(">f", 1.5)[:2], "1.500"),
        (b"float32", b"false", struct.pack(">f", float("nan")), None),
    ],
)
def test_kinds_of_numbers(number: bytes, low_first: bytes, registers: bytes, value: str | None) -> None:
    profile = parse_profile(PROFILE % (number, low_first), ScaleProfile, where="m.toml")
    (reading,) = ModbusRegisterScale(profile).feed(answered(registers), 1)
    assert isinstance(reading, Reading)
    assert (None if reading.value is None else str(reading.value)) == value
    assert reading.condition is (Condition.WEIGHT if value else Condition.NO_NUMBER)

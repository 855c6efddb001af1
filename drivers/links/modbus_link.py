"""Asks a Modbus device for its registers again and again; needs the extra ``modbus``."""

from __future__ import annotations

import importlib
import threading
import time
from collections.abc import Callable
from typing import Any, Protocol
from urllib.parse import urlsplit

from drivers.contract import LinkSink, LinkState
from drivers.links.device_link import DeviceLink
from drivers.scales.modbus_register import rtu_answer
from drivers.scales.scale_profile import ScaleProfile

_ANSWER_WAIT_S = 0.5
_SILENT_AFTER = 3


class RegisterClient(Protocol):
    """What is needed of a connection."""

    def read(self) -> bytes | None:
        """Return the registers, high byte first; None when the device did not answer in time."""
        ...

    def close(self) -> None:
        """Close the connection."""
        ...


class _Client:
    """A connection through pymodbus."""

    def __init__(self, client: Any, profile: ScaleProfile) -> None:  # noqa: ANN401 - the extra may be missing
        self._client = client
        self._registers = profile.modbus

    def read(self) -> bytes | None:
        wanted = self._registers
        if wanted is None:
            return None
        ask = self._client.read_input_registers if wanted.function == 4 else self._client.read_holding_registers
        try:
            answer = ask(wanted.register_number, count=wanted.count, device_id=wanted.address)
        except Exception as error:
            if type(error).__name__ == "ModbusIOException":
                return None
            raise OSError(str(error)) from error
        if answer.isError():
            raise OSError(f"the device refuses the registers: {answer}")
        registers: list[int] = answer.registers
        return b"".join(register.to_bytes(2, "big") for register in registers)

    def close(self) -> None:
        self._client.close()


def connect_registers(url: str, profile: ScaleProfile) -> RegisterClient:
    """Connect to a device.

    Parameters
    ----------
    url : str
        ``tcp://host:port`` for Modbus TCP, else the name of a serial port for Modbus RTU.
    profile : ScaleProfile
        Must have a [modbus].

    Returns
    -------
    RegisterClient
        The connection.

    Raises
    ------
    OSError
        If the extra is not installed or there is no connection.
    """
    try:
        library = importlib.import_module("pymodbus.client")
    except ImportError as error:
        raise OSError("the part for Modbus is missing: install spinledger[modbus]") from error
    parts = urlsplit(url)
    if parts.scheme == "tcp":
        client = library.ModbusTcpClient(parts.hostname, port=parts.port or 502, timeout=_ANSWER_WAIT_S, retries=0)
    else:
        port = profile.port
        client = library.ModbusSerialClient(
            url,
            baudrate=port.baud,
            bytesize=port.bits,
            parity=port.parity[0].upper(),
            stopbits=port.stop_bits,
            timeout=_ANSWER_WAIT_S,
            retries=0,
        )
    if not client.connect():
        client.close()
        raise FileNotFoundError(2, f"no connection to {url}")
    return _Client(client, profile)


class ModbusLink(DeviceLink[RegisterClient]):
    """Carries the answers of one device, and connects again when it is back.

    Parameters
    ----------
    connect : Callable[[], RegisterClient]
        Connects; may raise OSError.
    profile : ScaleProfile
        Must have a [modbus].
    sink : LinkSink
        Where answers and changes go, from the link's own thread.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    """

    thread_name = "modbus link"

    def __init__(
        self,
        connect: Callable[[], RegisterClient],
        profile: ScaleProfile,
        sink: LinkSink,
        *,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        super().__init__(connect, sink, clock_ns=clock_ns)
        self._profile = profile

    def _read(self, device: RegisterClient, stopping: threading.Event) -> None:
        wanted = self._profile.modbus
        if wanted is None:
            raise OSError("the profile has no [modbus]")
        unanswered = 0
        while not stopping.is_set():
            registers = device.read()
            if stopping.is_set():
                return
            if registers is None:
                unanswered += 1
                if unanswered == _SILENT_AFTER:
                    self._tell(LinkState.SILENT)
            else:
                unanswered = 0
                self._tell(LinkState.OPEN)
                answer = rtu_answer(address=wanted.address, function=wanted.function, registers=registers)
                self._sink.bytes_came(answer, self._clock_ns())
            stopping.wait(self._profile.port.ask_every_s)

"""Asks a Modbus device for its registers again and again; needs the extra ``modbus``."""

from __future__ import annotations

import importlib
import threading
import time
from collections.abc import Callable
from typing import Any, Protocol
from urllib.parse import urlsplit

from drivers.contract import LinkChange, LinkSink, LinkState
from drivers.links.port_errors import REMEDIES, state_of_error
from drivers.scales.modbus_register import rtu_answer
from drivers.scales.scale_profile import ScaleProfile

_STOP_WAIT_S = 0.8
_FIRST_RETRY_S = 0.1
_LAST_RETRY_S = 2.0
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


class ModbusLink:
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

    def __init__(
        self,
        connect: Callable[[], RegisterClient],
        profile: ScaleProfile,
        sink: LinkSink,
        *,
        clock_ns: Callable[[], int] = time.monotonic_ns,
    ) -> None:
        self._connect = connect
        self._profile = profile
        self._sink = sink
        self._clock_ns = clock_ns
        self._state = LinkState.CLOSED
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to ask."""
        if self._thread is None:
            self._stopping = threading.Event()
            args = (self._stopping,)
            self._thread = threading.Thread(target=self._run, args=args, name="modbus link", daemon=True)
            self._thread.start()

    def send(self, data: bytes) -> None:
        """Do nothing: only registers are read.

        Parameters
        ----------
        data : bytes
            Dropped.
        """

    def stop(self) -> None:
        """End the thread; returns within a second even when an answer never comes."""
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
                client = self._connect()
            except OSError as error:
                if not stopping.is_set():
                    self._tell(state_of_error(error, was_open=False), str(error))
                stopping.wait(wait_s)
                wait_s = min(2 * wait_s, _LAST_RETRY_S)
                continue
            wait_s = _FIRST_RETRY_S
            try:
                self._ask(client, stopping)
            except OSError as error:
                if not stopping.is_set():
                    self._tell(LinkState.LOST, str(error))
                stopping.wait(wait_s)
            finally:
                client.close()

    def _ask(self, client: RegisterClient, stopping: threading.Event) -> None:
        self._tell(LinkState.OPEN)
        wanted = self._profile.modbus
        if wanted is None:
            raise OSError("the profile has no [modbus]")
        unanswered = 0
        while not stopping.is_set():
            registers = client.read()
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

    def _tell(self, state: LinkState, detail: str = "") -> None:
        if state is not self._state:
            self._state = state
            self._sink.link_changed(LinkChange(self._clock_ns(), state, detail[:200], REMEDIES[state]))

"""The places an instrument could be at, as the machine lists them now, and the one that is the instrument."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from contextlib import suppress

from drivers.contract import InstrumentIdentity, PortSeen

_WEIGHING_PAGE = 0x8D
"""Usage page of scales. Source: USB-IF, HID Point of Sale Usage Tables."""


class PortNotFoundError(FileNotFoundError):
    """The instrument is at none of the ports.

    Parameters
    ----------
    words : str
        What was looked for.
    """

    def __init__(self, words: str) -> None:
        super().__init__(2, words)


class PortAmbiguousError(FileNotFoundError):
    """Several ports could be the instrument, and the program does not guess.

    Parameters
    ----------
    words : str
        What was looked for.
    candidates : Sequence[PortSeen]
        The ports between which a person must choose.
    """

    def __init__(self, words: str, candidates: Sequence[PortSeen]) -> None:
        super().__init__(2, words)
        self.candidates = tuple(candidates)


def ports_seen() -> list[PortSeen]:
    """List the serial ports of this machine.

    Returns
    -------
    list[PortSeen]
        USB ports first, each with its identity where the machine tells it.
    """
    from serial.tools.list_ports import comports

    seen: list[PortSeen] = []
    with suppress(OSError):
        for port in comports():
            words = port.description if port.description not in {None, "", "n/a"} else "serial port"
            serial_number, location = port.serial_number or "", port.location or ""
            seen.append(PortSeen(port.device, _plain(words), _plain(serial_number), _plain(location)))
    return sorted(seen, key=lambda port: (not (port.serial_number or port.location), port.url))


def weighing_devices_seen() -> list[PortSeen]:
    """List the USB weighing devices of this machine; none without the extra ``hid``.

    Returns
    -------
    list[PortSeen]
        Devices of the usage page for scales, each with the address that opens it.
    """
    try:
        hid = importlib.import_module("hid")
    except ImportError:
        return []
    seen: list[PortSeen] = []
    with suppress(OSError):
        for device in hid.enumerate():
            if device.get("usage_page") == _WEIGHING_PAGE:
                number = _plain(device.get("serial_number") or "")
                address = f"hid:{device['vendor_id']:04x}:{device['product_id']:04x}" + (f":{number}" if number else "")
                words = _plain(device.get("product_string") or "weighing device")
                seen.append(PortSeen(address, words, number))
    return seen


def find_port(identity: InstrumentIdentity, ports: Sequence[PortSeen]) -> PortSeen:
    """Find an instrument by its serial number, then by its location; never by a port's name.

    Parameters
    ----------
    identity : InstrumentIdentity
        Which instrument.
    ports : Sequence[PortSeen]
        What is there now.

    Returns
    -------
    PortSeen
        The one port it can be at.

    Raises
    ------
    PortNotFoundError
        If it is at none.
    PortAmbiguousError
        If several ports have its serial number and the location does not tell them apart.
    """
    if identity.serial_number:
        same = [port for port in ports if port.serial_number == identity.serial_number]
        words = f"serial number {identity.serial_number}"
        if len(same) > 1:
            here = [port for port in same if identity.location and port.location == identity.location]
            same = here or same
    else:
        words = f"location {identity.location or 'unknown'}"
        same = [port for port in ports if identity.location and port.location == identity.location]
    if not same:
        raise PortNotFoundError(f"no port has the {words}")
    if len(same) > 1:
        places = ", ".join(port.url for port in same)
        raise PortAmbiguousError(f"several ports have the {words}: {places}", same)
    return same[0]


def finder(identity: InstrumentIdentity, look: Callable[[], Sequence[PortSeen]] = ports_seen) -> Callable[[], str]:
    """Return what finds the instrument anew before each try to open it.

    Parameters
    ----------
    identity : InstrumentIdentity
        Which instrument.
    look : Callable[[], Sequence[PortSeen]]
        What lists the ports.

    Returns
    -------
    Callable[[], str]
        Gives the URL to open, or raises as `find_port` does.
    """
    return lambda: find_port(identity, look()).url


def _plain(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)[:120]

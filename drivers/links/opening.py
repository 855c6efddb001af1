"""An address as a person writes it to the link that serves it.

==============================  ======================================================================================
``/dev/ttyUSB0``, ``COM3``      a port by its name, which may change when it is plugged in elsewhere
``socket://host:port``          a network connection, and every other URL of pySerial: ``rfc2217://``, ``loop://``
``usb:BX17``                    a port by the serial number of its USB adapter, whatever it is called today
``usb:BX17@1-1.4``              the same, and the socket it is plugged into where two adapters share a number
``usb:@1-1.4``                  a port by its USB socket, for an adapter without a number
``hid:12ab:34cd``               a USB weighing device by vendor and product, in hexadecimal; a serial number may follow
``tcp://host:port``             a Modbus device, for a profile with registers; its serial port likewise by name
``replay:FILE``                 a recording of a link, with its times
==============================  ======================================================================================
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from urllib.parse import quote, unquote

from drivers.contract import InstrumentIdentity, Link, LinkSink, PortSeen
from drivers.links.hid_link import HidLink, open_weighing_device
from drivers.links.modbus_link import ModbusLink, connect_registers
from drivers.links.ports_seen import finder, ports_seen
from drivers.links.recording import ReplayLink
from drivers.links.serial_link import Patience, SerialLink
from drivers.profile import PortSettings
from drivers.scales.scale_profile import ScaleProfile

_HID = re.compile(r"([0-9A-Fa-f]{1,4}):([0-9A-Fa-f]{1,4})(?::(.+))?")


class AddressError(ValueError):
    """An address that names no link.

    Parameters
    ----------
    address : str
        As written.
    wanted : str
        What would be right.
    """

    def __init__(self, address: str, wanted: str) -> None:
        super().__init__(f"{address}: wanted {wanted}")
        self.address = address
        self.wanted = wanted


def lasting_address(port: PortSeen, among: Sequence[PortSeen] = ()) -> str:
    """Return the address that stays with an instrument when its port changes its name.

    Parameters
    ----------
    port : PortSeen
        The port.
    among : Sequence[PortSeen]
        All ports, to see whether the serial number is the only one of its kind.

    Returns
    -------
    str
        By serial number, with the socket where several share one; by the socket; by the port's name if it has neither.

    Examples
    --------
    >>> lasting_address(PortSeen("COM3", "adapter", "BX17", "1-4"))
    'usb:BX17'
    """
    if not port.serial_number:
        return f"usb:@{quote(port.location, safe='')}" if port.location else port.url
    number = quote(port.serial_number, safe="")
    twins = sum(other.serial_number == port.serial_number for other in among)
    return f"usb:{number}@{quote(port.location, safe='')}" if twins > 1 and port.location else f"usb:{number}"


def identity_of(address: str) -> InstrumentIdentity | None:
    """Return the USB identity that an address names.

    Parameters
    ----------
    address : str
        As written.

    Returns
    -------
    InstrumentIdentity | None
        None for an address of another sort.

    Raises
    ------
    AddressError
        If it begins like one and names neither serial number nor socket.
    """
    scheme, colon, rest = address.partition(":")
    if scheme.lower() != "usb" or not colon:
        return None
    number, _, location = rest.partition("@")
    if not number and not location:
        raise AddressError(address, "usb:SERIAL, usb:SERIAL@SOCKET or usb:@SOCKET")
    return InstrumentIdentity("", unquote(number), unquote(location))


def port_link(
    address: str,
    sink: LinkSink,
    *,
    port: PortSettings,
    patience: Patience | None = None,
    clock_ns: Callable[[], int] = time.monotonic_ns,
    look: Callable[[], Sequence[PortSeen]] = ports_seen,
) -> SerialLink:
    """Return the link of an instrument that is a port.

    Parameters
    ----------
    address : str
        A port's name, a pySerial URL or a USB identity.
    sink : LinkSink
        Where bytes and changes go.
    port : PortSettings
        How the port is opened.
    patience : Patience | None
        How long to wait, and for what.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]
    look : Callable[[], Sequence[PortSeen]]
        What lists the ports.

    Returns
    -------
    SerialLink
        Not yet started.

    Raises
    ------
    AddressError
        If the address names no port.
    """
    identity = identity_of(address)
    where: str | Callable[[], str] = finder(identity, look) if identity else address
    return SerialLink(where, sink, port=port, patience=patience, clock_ns=clock_ns)


def scale_link(
    address: str,
    sink: LinkSink,
    *,
    profile: ScaleProfile,
    patience: Patience | None = None,
    clock_ns: Callable[[], int] = time.monotonic_ns,
) -> Link:
    """Return the link of a scale, of the sort that address and profile name.

    Parameters
    ----------
    address : str
        As in the table above.
    sink : LinkSink
        Where bytes and changes go.
    profile : ScaleProfile
        How its port is opened, and which registers are read.
    patience : Patience | None
        How long to wait, and for what.
    clock_ns : Callable[[], int]
        Monotonic clock. [ns]

    Returns
    -------
    Link
        Not yet started.

    Raises
    ------
    AddressError
        If the address does not fit its own sort, or the profile.
    """
    scheme, _, rest = address.partition(":")
    if scheme.lower() == "replay":
        return ReplayLink(Path(rest), sink, clock_ns=clock_ns)
    if profile.modbus is not None:
        return ModbusLink(partial(connect_registers, address, profile), profile, sink, clock_ns=clock_ns)
    if scheme.lower() == "hid":
        found = _HID.fullmatch(rest)
        if found is None:
            raise AddressError(address, "hid:VENDOR:PRODUCT in hexadecimal, as `spinledger instruments` lists it")
        vendor, product, number = int(found[1], 16), int(found[2], 16), found[3] or ""
        opened = partial(open_weighing_device, vendor=vendor, product=product, serial_number=number)
        return HidLink(opened, sink, clock_ns=clock_ns)
    if profile.driver == "hid-weighing":
        raise AddressError(address, "hid:VENDOR:PRODUCT for this profile, as `spinledger instruments` lists it")
    return port_link(address, sink, port=profile.port, patience=patience, clock_ns=clock_ns)

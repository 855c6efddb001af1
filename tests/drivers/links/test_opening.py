"""From an address to the link that serves it, and many ports looked at in one moment."""

from __future__ import annotations

import os
import random
import sys
import threading
import time
from pathlib import Path

import pytest
import serial

from drivers.contract import LinkState, PortSeen
from drivers.links import ports_seen as seen_module
from drivers.links.hid_link import HidLink
from drivers.links.looking import last_line, look_at
from drivers.links.modbus_link import ModbusLink
from drivers.links.opening import AddressError, identity_of, lasting_address, port_link, scale_link
from drivers.links.recording import ReplayLink
from drivers.links.serial_link import Patience, SerialLink
from drivers.profile import PortSettings
from drivers.registry import scale_profile
from tests.drivers.links.ears import Ears

posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are a POSIX thing")
TWINS = [PortSeen("COM3", "a", "0001", "1-1"), PortSeen("COM4", "b", "0001", "1-2"), PortSeen("COM9", "c", "", "1-7")]


def test_an_address_that_lasts_names_the_instrument_and_not_the_port() -> None:
    assert lasting_address(PortSeen("COM3", "a", "A/1 @", "1-1")) == "usb:A%2F1%20%40"
    assert [lasting_address(port, TWINS) for port in TWINS] == ["usb:0001@1-1", "usb:0001@1-2", "usb:@1-7"]
    assert lasting_address(PortSeen("/dev/ttyS0", "a"), TWINS) == "/dev/ttyS0"
    for port in TWINS:
        identity = identity_of(lasting_address(port, TWINS))
        assert identity is not None
        assert (identity.serial_number, identity.location) == (port.serial_number, port.location)
    assert identity_of("COM3") is None
    assert identity_of("socket://127.0.0.1:4001") is None
    with pytest.raises(AddressError, match="usb:SERIAL"):
        identity_of("usb:")


@posix
def test_a_scale_kept_by_its_number_is_found_at_another_port(tmp_path: Path) -> None:
    import tty

    master, slave = os.openpty()
    tty.setraw(master)
    now = [PortSeen("/dev/gone", "x", "BX17", "1-1")]
    ears = Ears()
    quick = Patience(first_retry_s=0.02, last_retry_s=0.1)
    link = port_link("usb:BX17", ears, port=PortSettings(), patience=quick, look=lambda: now)
    link.start()
    assert ears.wait_state(LinkState.ABSENT)
    now[:] = [PortSeen(os.ttyname(slave), "x", "BX17", "2-4")]
    assert ears.wait_state(LinkState.OPEN)
    now.append(PortSeen("/dev/other", "x", "BX17", "3-1"))
    os.close(master)
    assert ears.wait_state(LinkState.ABSENT)
    assert "several ports have the serial number BX17" in ears.changes[-1].detail
    link.stop()
    os.close(slave)


def test_address_and_profile_choose_the_link(tmp_path: Path) -> None:
    ears, plain = Ears(), scale_profile("plain-stream")
    assert isinstance(scale_link("loop://", ears, profile=plain), SerialLink)
    assert isinstance(scale_link(f"replay:{tmp_path / 'x'}", ears, profile=plain), ReplayLink)
    assert isinstance(scale_link("tcp://127.0.0.1:1", ears, profile=scale_profile("modbus-register")), ModbusLink)
    assert isinstance(scale_link("hid:12ab:34cd:0007", ears, profile=scale_profile("hid-weighing")), HidLink)
    with pytest.raises(AddressError, match="hexadecimal"):
        scale_link("hid:scale", ears, profile=scale_profile("hid-weighing"))
    with pytest.raises(AddressError, match="for this profile"):
        scale_link("COM3", ears, profile=scale_profile("hid-weighing"))


class Hid:
    @staticmethod
    def enumerate() -> list[dict[str, object]]:
        keyboard = {"usage_page": 1, "vendor_id": 1, "product_id": 2, "serial_number": "", "product_string": "keys"}
        pan = {
            "usage_page": 0x8D,
            "vendor_id": 0x12AB,
            "product_id": 0x34,
            "serial_number": "7\x1b",
            "product_string": "",
        }
        return [keyboard, pan]


def test_usb_weighing_devices_are_listed_with_their_address(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seen_module.importlib, "import_module", lambda _: Hid)
    assert seen_module.weighing_devices_seen() == [PortSeen("hid:12ab:0034:7?", "weighing device", "7?")]

    def missing(name: str) -> object:
        raise ImportError(name)

    monkeypatch.setattr(seen_module.importlib, "import_module", missing)
    assert seen_module.weighing_devices_seen() == []


@posix
def test_every_port_is_told_in_words_at_once(tmp_path: Path) -> None:
    import tty

    pairs = [os.openpty() for _ in range(4)]
    for master, _ in pairs:
        tty.setraw(master)
    speaks, garbled, silent, busy = (os.ttyname(slave) for _, slave in pairs)
    holder = serial.Serial(busy, exclusive=True)
    stop = threading.Event()

    def talk() -> None:
        rng = random.Random(3)
        while not stop.wait(0.02):
            os.write(pairs[0][0], b"wt +00603.8 g still\r\n")
            os.write(pairs[1][0], rng.randbytes(12))

    talker = threading.Thread(target=talk, daemon=True)
    talker.start()
    ports = [PortSeen(url, "x") for url in (speaks, garbled, silent, busy, str(tmp_path / "nothing"))]
    begun = time.monotonic()
    states = look_at(ports, listen_s=0.8)
    took = time.monotonic() - begun
    stop.set()
    talker.join()
    holder.close()
    for pair in pairs:
        for handle in pair:
            os.close(handle)
    wanted = [LinkState.OPEN, LinkState.GARBLED, LinkState.SILENT, LinkState.BUSY, LinkState.ABSENT]
    assert [state.state for state in states] == wanted
    assert [bool(state.remedy) for state in states] == [False, True, True, True, True]
    assert states[0].detail == '"wt +00603.8 g still"'
    assert "teach" in states[1].remedy
    assert took < 5.0
    assert look_at([]) == []


def test_the_last_line_of_a_capture_without_ends() -> None:
    assert last_line(b"\x1b[2J" * 20) == '"' + "\\x1b[2J" * 6 + '"'

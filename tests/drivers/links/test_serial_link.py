"""Links over real ports: pseudo-terminals, loopback TCP, RFC 2217; lost, found, busy, forbidden, silent, stuck."""

from __future__ import annotations

import os
import random
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from drivers.contract import InstrumentIdentity, LinkState, PortSeen, Reading
from drivers.links.ports_seen import PortAmbiguousError, PortNotFoundError, find_port, finder, ports_seen
from drivers.links.serial_link import Patience, SerialLink
from drivers.listening import ScaleListening
from drivers.profile import PortSettings
from drivers.registry import make_scale_driver
from tests.drivers.links.ears import Ears, until

posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are a POSIX thing")
QUICK = Patience(first_retry_s=0.02, last_retry_s=0.1, silent_after_s=0.4, reopen_after_s=0.8)


class Pty:
    """A pseudo-terminal with a stable name in a folder, that can be pulled and put back."""

    def __init__(self, folder: Path, name: str = "scale") -> None:
        self.path = folder / name
        self._master = -1

    def plug(self) -> None:
        import tty

        self._master, slave = os.openpty()
        tty.setraw(self._master)
        self.path.unlink(missing_ok=True)
        self.path.symlink_to(os.ttyname(slave))
        os.close(slave)

    def pull(self) -> None:
        self.path.unlink(missing_ok=True)
        if self._master >= 0:
            os.close(self._master)
            self._master = -1

    def write(self, data: bytes) -> None:
        os.write(self._master, data)

    def read(self) -> bytes:
        return os.read(self._master, 100)


@pytest.fixture
def pty(tmp_path: Path) -> Iterator[Pty]:
    port = Pty(tmp_path)
    yield port
    port.pull()


@posix
def test_bytes_come_with_their_time_and_stop_is_quick(pty: Pty) -> None:
    ears = Ears()
    pty.plug()
    link = SerialLink(str(pty.path), ears, patience=QUICK)
    link.start()
    link.start()
    assert ears.wait_state(LinkState.OPEN)
    begun = time.monotonic_ns()
    pty.write(b"wt +00603.8 g still\r\n")
    assert ears.wait_bytes(b"still\r\n")
    assert begun <= ears.times[-1] <= time.monotonic_ns()
    begun_s = time.monotonic()
    link.stop()
    link.stop()
    assert time.monotonic() - begun_s < 1.0
    assert ears.states[-1] is LinkState.CLOSED


class Takes:
    """Counts what a weighing would take: three agreeing lines."""

    def __init__(self) -> None:
        self.values: list[str] = []
        self.taken: list[str] = []
        self.states: list[LinkState] = []

    def reading_came(self, reading: Reading) -> None:
        self.values.append(str(reading.value))
        if len(self.values) >= 3 and len(set(self.values[-3:])) == 1:
            self.taken.append(self.values[-1])

    def fault_came(self, fault: object) -> None:
        pass

    def unit_changed(self, *, old: str, new: str) -> None:
        pass

    def link_changed(self, change: object) -> None:
        state = getattr(change, "state", LinkState.OPEN)
        self.states.append(state)
        if state is LinkState.LOST:
            self.values.clear()


def unplug_cycles(pty: Pty, cycles: int, *, new_name: bool) -> tuple[list[float], list[float], Takes]:
    """Pull and put back a scale, mid-line and idle; return the times to tell of it and to come back."""
    takes = Takes()
    rng = random.Random(15)
    lines = b"wt +00603.8 g still\r\n"
    where = {"name": str(pty.path)}
    pty.plug()
    link = SerialLink(
        lambda: where["name"],
        ScaleListening(make_scale_driver("plain-stream"), takes),
        patience=Patience(first_retry_s=0.02, last_retry_s=0.1),
    )
    link.start()
    told_s: list[float] = []
    back_s: list[float] = []
    for cycle in range(cycles):
        assert until(lambda: link.state is LinkState.OPEN)
        count = len(takes.taken)
        pty.write(lines * 4)
        assert until(lambda before=count: len(takes.taken) > before)
        if cycle % 2:
            pty.write(lines[: rng.randrange(1, len(lines) - 2)])
        begun = time.monotonic()
        pty.pull()
        assert until(lambda: link.state in {LinkState.LOST, LinkState.ABSENT})
        told_s.append(time.monotonic() - begun)
        if new_name:
            pty.path = pty.path.with_name(f"scale-{cycle}")
            where["name"] = str(pty.path)
        pty.plug()
        begun = time.monotonic()
        assert until(lambda: link.state is LinkState.OPEN)
        back_s.append(time.monotonic() - begun)
    link.stop()
    return told_s, back_s, takes


@posix
@pytest.mark.parametrize("new_name", ["", "another"])
def test_a_hundred_times_unplugged_and_back(pty: Pty, new_name: str) -> None:
    told_s, back_s, takes = unplug_cycles(pty, 100, new_name=bool(new_name))
    print(f"told in {max(told_s) * 1e3:.0f} ms at worst, back in {max(back_s) * 1e3:.0f} ms at worst")
    assert len(back_s) == 100
    assert max(told_s) <= 1.0
    assert max(back_s) <= 3.0
    assert set(takes.taken) == {"603.8"}


@posix
def test_two_programs_cannot_share_a_port(pty: Pty) -> None:
    pty.plug()
    first, second = Ears(), Ears()
    holder = SerialLink(str(pty.path), first, patience=QUICK)
    holder.start()
    assert first.wait_state(LinkState.OPEN)
    waiting = SerialLink(str(pty.path), second, patience=QUICK)
    waiting.start()
    assert second.wait_state(LinkState.BUSY)
    assert "close the other program" in second.changes[-1].remedy
    holder.stop()
    assert second.wait_state(LinkState.OPEN)
    waiting.stop()


@posix
def test_silence_is_told_and_ends_with_the_next_byte(pty: Pty) -> None:
    pty.plug()
    ears = Ears()
    link = SerialLink(str(pty.path), ears)
    link.start()
    assert ears.wait_state(LinkState.OPEN)
    begun = time.monotonic()
    assert ears.wait_state(LinkState.SILENT, 5.0)
    assert 2.9 < time.monotonic() - begun < 3.8
    pty.write(b"x")
    assert ears.wait_state(LinkState.OPEN)
    link.stop()


@posix
def test_a_print_key_scale_may_be_quiet(pty: Pty) -> None:
    pty.plug()
    ears = Ears()
    link = SerialLink(str(pty.path), ears, port=PortSettings(quiet_is_normal=True), patience=QUICK)
    link.start()
    time.sleep(0.8)
    assert ears.states == [LinkState.OPEN]
    link.stop()


@posix
def test_a_scale_that_is_asked(pty: Pty) -> None:
    pty.plug()
    ears = Ears()
    link = SerialLink(str(pty.path), ears, port=PortSettings(ask="W?\r\n", ask_every_s=0.05), patience=QUICK)
    link.start()
    assert ears.wait_state(LinkState.OPEN)
    for _ in range(3):
        assert b"W?\r\n" in pty.read()
        pty.write(b"A; 603.8;g\r\n")
    assert ears.wait_bytes(b"A; 603.8;g\r\n" * 2)
    link.send(b"Z\r\n")
    assert until(lambda: b"Z\r\n" in pty.read(), 2.0)
    link.stop()


PORTS = [PortSeen("COM3", "a", "SN1", "1-1"), PortSeen("COM7", "b", "SN2", "1-2"), PortSeen("COM8", "c", "", "1-3")]


def test_an_instrument_is_found_by_number_then_place_never_by_name() -> None:
    assert find_port(InstrumentIdentity("p", "SN2", "1-1"), PORTS).url == "COM7"
    assert find_port(InstrumentIdentity("p", "", "1-3"), PORTS).url == "COM8"
    with pytest.raises(PortNotFoundError, match="SN9"):
        find_port(InstrumentIdentity("p", "SN9", "1-1"), PORTS)
    with pytest.raises(PortNotFoundError, match="unknown"):
        find_port(InstrumentIdentity("p"), PORTS)
    twins = [PortSeen("COM3", "a", "SN1", "1-1"), PortSeen("COM4", "a", "SN1", "1-4")]
    assert find_port(InstrumentIdentity("p", "SN1", "1-4"), twins).url == "COM4"
    with pytest.raises(PortAmbiguousError, match="COM3, COM4") as caught:
        find_port(InstrumentIdentity("p", "SN1", "9-9"), twins)
    assert len(caught.value.candidates) == 2


@posix
def test_a_link_bound_to_an_identity_follows_it_to_another_name(pty: Pty, tmp_path: Path) -> None:
    now: list[PortSeen] = []
    ears = Ears()
    link = SerialLink(finder(InstrumentIdentity("p", "SN1"), lambda: now), ears, patience=QUICK)
    link.start()
    assert ears.wait_state(LinkState.ABSENT)
    pty.plug()
    now.append(PortSeen(str(pty.path), "x", "SN1"))
    assert ears.wait_state(LinkState.OPEN)
    now.clear()
    pty.pull()
    assert ears.wait_state(LinkState.ABSENT)
    assert "SN1" in ears.changes[-1].detail
    pty.path = tmp_path / "elsewhere"
    pty.plug()
    now.append(PortSeen(str(pty.path), "x", "SN1"))
    assert ears.wait_state(LinkState.OPEN)
    link.stop()


def test_the_ports_of_this_machine_can_be_listed() -> None:
    begun = time.monotonic()
    assert isinstance(ports_seen(), list)
    assert time.monotonic() - begun < 2.0


def test_no_thread_is_left_behind() -> None:
    before = threading.active_count()
    for _ in range(5):
        link = SerialLink("loop://", Ears(), patience=QUICK)
        link.start()
        link.stop()
    assert until(lambda: threading.active_count() <= before, 3.0)

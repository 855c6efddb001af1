"""Ports of the simulated scale: reached, left, unplugged and reached again."""

from __future__ import annotations

import os
import select
import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from sim.clock import PacedClock
from sim.ports import Port, PortError, PtyPort, TcpPort, open_port

posix = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")


def _number(port: Port) -> int:
    return int(port.url.rsplit(":", 1)[1])


def _until(true: Callable[[], bool], port: Port) -> None:
    give_up = time.monotonic() + 3
    while not true():
        port.look()
        assert time.monotonic() < give_up, "waited in vain"
        time.sleep(0.005)


def test_tcp_sends_to_all_and_takes_back_those_who_return() -> None:
    port = TcpPort("127.0.0.1", 0)
    try:
        port.send(b"nobody hears this")
        for _ in range(3):
            with (
                socket.create_connection(("127.0.0.1", _number(port))) as one,
                socket.create_connection(("127.0.0.1", _number(port))) as other,
            ):
                for client in (one, other):
                    client.settimeout(3)
                time.sleep(0.02)
                port.look()
                port.send(b"wt\r\n")
                assert one.recv(10) == other.recv(10) == b"wt\r\n"
            time.sleep(0.02)
            port.look()
            port.send(b"gone")
    finally:
        port.close()


def test_tcp_unplugged_cuts_off_and_comes_back_at_the_same_place() -> None:
    port = TcpPort("127.0.0.1", 0)
    try:
        url, number = port.url, _number(port)
        with socket.create_connection(("127.0.0.1", number)) as client:
            client.settimeout(3)
            time.sleep(0.02)
            port.look()
            port.pull()
            assert client.recv(10) == b""
        with pytest.raises(OSError, match="refused"):
            socket.create_connection(("127.0.0.1", number), timeout=1)
        port.plug()
        assert port.url == url
        with socket.create_connection(("127.0.0.1", number)) as client:
            client.settimeout(3)
            time.sleep(0.02)
            port.look()
            port.send(b"again")
            assert client.recv(10) == b"again"
    finally:
        port.close()


def test_tcp_hands_on_what_it_is_told() -> None:
    port = TcpPort("127.0.0.1", 0)
    try:
        with socket.create_connection(("127.0.0.1", _number(port))) as client:
            client.sendall(b"ask")
            heard: list[bytes] = []
            _until(lambda: bool(heard.append(port.look()) or b"".join(heard) == b"ask"), port)
    finally:
        port.close()


def test_a_listener_who_never_reads_holds_nobody_up() -> None:
    port = TcpPort("127.0.0.1", 0)
    try:
        with socket.create_connection(("127.0.0.1", _number(port))):
            time.sleep(0.02)
            port.look()
            begun = time.monotonic()
            for _ in range(20_000):
                port.send(b"x" * 1000)
            assert time.monotonic() - begun < 5
    finally:
        port.close()


@posix
def test_pty_sends_raw_bytes_and_keeps_its_name() -> None:
    port = PtyPort()
    try:
        url = port.url
        for _ in range(3):
            end = os.open(url, os.O_RDWR | os.O_NOCTTY)
            port.send(b"wt +1 g\r\n")
            assert select.select([end], [], [], 2)[0]
            assert os.read(end, 100) == b"wt +1 g\r\n"
            os.write(end, b"ask")
            heard: list[bytes] = []
            _until(lambda seen=heard: bool(seen.append(port.look()) or b"".join(seen) == b"ask"), port)
            os.close(end)
            port.pull()
            assert not Path(url).exists()
            port.send(b"nobody hears this")
            port.plug()
            assert port.url == url
    finally:
        port.close()
    assert not Path(url).parent.exists()


@posix
def test_pty_does_not_pile_up_old_lines() -> None:
    port = PtyPort()
    try:
        for number in range(2000):
            port.send(b"%06d\r\n" % number)
            if number % 50 == 0:
                time.sleep(0.001)  # the system hands bytes over in its own time
        end = os.open(port.url, os.O_RDWR | os.O_NOCTTY)
        waiting = b""
        while not waiting.endswith(b"001999\r\n"):
            assert select.select([end], [], [], 3)[0], waiting[-40:]
            waiting += os.read(end, 100_000)
        os.close(end)
        assert len(waiting) <= 4096
    finally:
        port.close()


@pytest.mark.parametrize("wanted", ["tcp:0.0.0.0:0", "tcp:127.0.0.1:99999", "tcp:127.0.0.1:x", "nothing", "tcp:"])
def test_what_cannot_be_had_is_said(wanted: str) -> None:
    with pytest.raises(PortError, match="wanted tcp"):
        open_port(wanted)


def test_a_busy_address_is_said() -> None:
    port = TcpPort("127.0.0.1", 0)
    try:
        with pytest.raises(PortError, match="cannot be had"):
            open_port(f"tcp:127.0.0.1:{_number(port)}")
    finally:
        port.close()


def test_the_clock_runs_at_its_pace_and_waits_out_a_pause() -> None:
    wall = [100.0]
    clock = PacedClock(20, lambda: wall[0])
    wall[0] += 0.01
    assert clock.allowed_s() == pytest.approx(0.2)
    wall[0] += 5.0  # the computer was busy: at most 0.05 s of it counts
    assert clock.allowed_s() == pytest.approx(1.2)
    assert clock.wall_wait_s(1.3) == pytest.approx(0.005)
    assert clock.wall_wait_s(0.5) == 0.0


@pytest.mark.parametrize("pace", [0.0, -1.0, float("nan"), float("inf")])
def test_a_pace_that_is_none_is_refused(pace: float) -> None:
    with pytest.raises(ValueError, match="pace"):
        PacedClock(pace)

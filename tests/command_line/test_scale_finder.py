"""A scale is found by its bytes over real links: a network port, and a line whose speed is not the usual one."""

from __future__ import annotations

import os
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bench.command_line.scale_finder import ScaleFinder
from bench.screens.shop import HeardNow
from drivers.profile import PortSettings

LONG_S = 30.0
LINE = b"wt +00603.8 g still\r\n"
"""As the profile plain-stream describes it."""


def waited(finder: ScaleFinder, until: Callable[[HeardNow], bool]) -> HeardNow:
    end = time.monotonic() + LONG_S
    while time.monotonic() < end:
        now = finder.now()
        if until(now):
            return now
        time.sleep(0.05)
    return finder.now()


class Talker:
    """A port of the loopback that says a line ten times a second."""

    def __init__(self, line: bytes) -> None:
        self._line = line
        self._server = socket.create_server(("127.0.0.1", 0))
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    @property
    def url(self) -> str:
        return f"socket://127.0.0.1:{self._server.getsockname()[1]}"

    def _serve(self) -> None:
        self._server.settimeout(0.2)
        while not self._stop.is_set():
            try:
                peer, _ = self._server.accept()
            except TimeoutError:
                continue
            with peer:
                try:
                    while self._line and not self._stop.wait(0.02):
                        peer.sendall(self._line)
                    self._stop.wait(0.2 if self._line else 3600)
                except OSError:
                    continue

    def close(self) -> None:
        self._stop.set()
        self._thread.join(2.0)
        self._server.close()


@pytest.fixture
def talker() -> Iterator[Callable[[bytes], Talker]]:
    made: list[Talker] = []

    def make(line: bytes) -> Talker:
        made.append(Talker(line))
        return made[-1]

    yield make
    for each in made:
        each.close()


def quick(_setting: PortSettings) -> float:
    return 0.4


def test_a_known_layout_is_read_and_kept(talker: Callable[[bytes], Talker], tmp_path: Path) -> None:
    port = talker(LINE)
    kept: list[tuple[str, str]] = []
    finder = ScaleFinder(port.url, profiles=tmp_path, keep=lambda *words: kept.append(words), dwell=quick)
    try:
        now = waited(finder, lambda now: now.ready)
        assert now.ready, now
        assert now.shown == "603.8 g"
        assert now.profile == "plain-stream"
        assert now.lines
        assert finder.keep() == ""
    finally:
        finder.stop()
    assert kept == [(port.url, "plain-stream")]


def test_a_strange_layout_is_shown_and_not_kept(talker: Callable[[bytes], Talker], tmp_path: Path) -> None:
    port = talker(b"<<A|0603|8>> ~q 77 \x1b[2J\r\n")
    finder = ScaleFinder(port.url, profiles=tmp_path, keep=lambda *_: None, dwell=quick)
    try:
        now = waited(finder, lambda now: "layout" in now.words)
        assert "spinledger teach scale" in now.words
        assert not now.ready
        assert "\x1b" not in "".join(now.lines)
        assert finder.keep() != ""
    finally:
        finder.stop()


def test_a_port_that_is_not_there_says_what_to_do(tmp_path: Path) -> None:
    finder = ScaleFinder(str(tmp_path / "no-port"), profiles=tmp_path, keep=lambda *_: None, dwell=lambda _: 0.05)
    try:
        now = waited(finder, lambda now: "absent" in now.words)
        assert "absent" in now.words
        assert not now.ready
    finally:
        finder.stop()


@pytest.mark.skipif(os.name == "nt", reason="needs a pty")
def test_the_speed_that_was_found_is_kept_in_a_profile_of_the_shop(tmp_path: Path) -> None:
    # a pty has no speed of its own: the wire is simulated by silence at every other speed
    import pty
    import termios
    import tty

    from drivers.registry import scale_profile

    leader, follower = pty.openpty()
    tty.setraw(follower)
    stop = threading.Event()

    def play() -> None:
        while not stop.wait(0.02):
            # index 4 is the speed the port is set to now
            if termios.tcgetattr(follower)[4] == termios.B4800:
                os.write(leader, LINE)

    thread = threading.Thread(target=play, daemon=True)
    thread.start()
    kept: list[tuple[str, str]] = []
    finder = ScaleFinder(os.ttyname(follower), profiles=tmp_path, keep=lambda *words: kept.append(words), dwell=quick)
    try:
        now = waited(finder, lambda now: now.ready)
        assert now.ready, now
        assert "4800" in now.setting
        assert finder.keep() == ""
    finally:
        finder.stop()
        stop.set()
        thread.join(2.0)
        os.close(leader)
        os.close(follower)
    ((_, profile),) = kept
    assert profile == "plain-stream-4800-8none"
    assert scale_profile(profile, folder=tmp_path).port.baud == 4800

"""A scale that nobody has described: the simulator's pan and hands, its lines dressed in another layout, on a terminal."""

from __future__ import annotations

import json
import os
import re
import select
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from urllib.parse import urlsplit

SIMULATED = re.compile(rb"wt ([+-])([0-9.]+) g (still|moves)")


def semicolons(sign: str, digits: str, steady: bool) -> bytes:
    """Status first, sign apart, decimal comma, a check at the end: `QA;-;  603,8;g;4B`."""
    body = f"{'QA' if steady else 'QB'};{sign};{digits.replace('.', ','):>8};g;".encode()
    return body + b"%02X" % (sum(body) % 256) + b"\r\n"


class StrangeScale:
    """What stands on the bench, and the hands that use it."""

    def __init__(self, dress: Callable[[str, str, bool], bytes] = semicolons, *, pace: float = 4.0) -> None:
        import tty

        self._process = subprocess.Popen(
            [sys.executable, "-m", "sim", "scale", "--quiet", "--pace", str(pace), "--seed", "11"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        url = urlsplit(json.loads(self._process.stdout.readline())["ready"]["url"])
        assert url.hostname is not None
        self._socket = socket.create_connection((url.hostname, url.port or 0))
        self._master, self._slave = os.openpty()
        tty.setraw(self._master)
        os.set_blocking(self._master, False)
        self.address = os.ttyname(self._slave)
        self._dress = dress
        self._anchor = 1e9
        self.display, self.still_since = "", time.monotonic()
        self._stopping = threading.Event()
        self._threads = [threading.Thread(target=target, daemon=True) for target in (self._relay, self._drain)]
        for thread in self._threads:
            thread.start()

    def _drain(self) -> None:
        assert self._process.stdout is not None
        for _ in self._process.stdout:
            pass

    def _relay(self) -> None:
        rest = b""
        while not self._stopping.is_set():
            if not select.select([self._socket], [], [], 0.2)[0]:
                continue
            chunk = self._socket.recv(4096)
            if not chunk:
                return
            *whole, rest = (rest + chunk).split(b"\r\n")
            for line in whole:
                found = SIMULATED.fullmatch(line)
                if found is None:
                    continue
                sign, digits = found[1].decode(), found[2].decode().lstrip("0")
                digits = "0" + digits if digits.startswith(".") else digits
                shown = ("-" if sign == "-" and float(digits) else "") + digits
                steady = found[3] == b"still"
                if abs(float(shown) - self._anchor) > 0.25:  # a last digit that flickers is still a display that stands
                    self._anchor, self.still_since = float(shown), time.monotonic()
                self.display = shown
                try:
                    os.write(self._master, self._dress("-" if shown.startswith("-") else "+", digits, steady))
                except BlockingIOError:
                    continue  # nobody listens; a scale goes on

    def tell(self, **told: object) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(told) + "\n")
        self._process.stdin.flush()

    def settled(self, *, differs_from: str | None = None, for_s: float = 1.5, within_s: float = 40.0) -> str:
        """Wait as a person does until the display stands, and read it."""
        end = time.monotonic() + within_s
        while time.monotonic() < end:
            stands = time.monotonic() - self.still_since > for_s
            if stands and self.display and (differs_from is None or self.moved_from(differs_from)):
                return self.display
            time.sleep(0.05)
        raise AssertionError(f"the display never stood; it shows {self.display!r}")

    def moved_from(self, shown: str) -> bool:
        return abs(float(self.display) - float(shown)) > 5.0

    def close(self) -> None:
        self._stopping.set()
        self._threads[0].join(2.0)
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._socket.close()
        self._process.wait(10.0)
        self._threads[1].join(2.0)
        self._process.stdout.close()
        os.close(self._master)
        os.close(self._slave)

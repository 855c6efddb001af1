"""The stream of moments over a real server on loopback."""

from __future__ import annotations

import http.client
import json
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

pytest.importorskip("uvicorn", reason="the extra 'wall' is not installed")
pytest.importorskip("starlette", reason="the extra 'wall' is not installed")

import uvicorn

from bench.wall.guard import Doors
from bench.wall.moments import Moment
from bench.wall.server import MOST_SCREENS, wall_app


class Bench:
    """Gives moments as it is told."""

    def __init__(self) -> None:
        self.moment: Moment | None = None

    def look(self) -> Moment | None:
        return self.moment


@contextmanager
def serving(bench: Bench) -> Iterator[int]:
    door = socket.create_server(("127.0.0.1", 0))
    port = door.getsockname()[1]
    app = wall_app(bench.look, Doors(frozenset({f"127.0.0.1:{port}"})))
    server = uvicorn.Server(
        uvicorn.Config(app, http="h11", ws="none", log_level="error", timeout_graceful_shutdown=1, access_log=False)
    )
    thread = threading.Thread(target=lambda: server.run(sockets=[door]))
    thread.start()
    try:
        while not server.started:
            time.sleep(0.005)
        yield port
    finally:
        server.should_exit = True
        thread.join(timeout=10)
        door.close()


class Screen:
    """A browser's connection."""

    def __init__(self, port: int) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        self._connection.request("GET", "/moments")
        self._sock = self._connection.sock
        self.answer = self._connection.getresponse()

    def close(self) -> None:
        self.answer.close()
        self._sock.close()
        self._connection.close()


def next_moment(answer: http.client.HTTPResponse) -> Moment:
    kind = ""
    while line := answer.readline().decode().rstrip("\n"):
        if line.startswith("event: "):
            kind = line.removeprefix("event: ")
        if line.startswith("data: ") and kind == "moment":
            answer.readline()
            return json.loads(line.removeprefix("data: "))
        if line.startswith(("data: ", "retry: ")):
            answer.readline()
    raise AssertionError("the stream ended")


def test_moments_come_as_they_change_to_every_screen() -> None:
    bench = Bench()
    with serving(bench) as port:
        screens = [Screen(port) for _ in range(3)]
        assert all(next_moment(screen.answer) == {"running": False} for screen in screens)
        for shown in ("1.0", "2.0"):
            bench.moment = {"live": shown}
            assert [next_moment(screen.answer) for screen in screens] == [{"running": True, "live": shown}] * 3
        late = Screen(port)
        assert next_moment(late.answer) == {"running": True, "live": "2.0"}
        for screen in (*screens, late):
            screen.close()


def test_only_so_many_screens() -> None:
    bench = Bench()
    with serving(bench) as port:
        screens = [Screen(port) for _ in range(MOST_SCREENS)]
        for screen in screens:
            next_moment(screen.answer)
        refused = Screen(port)
        assert refused.answer.status == 503
        for screen in (*screens, refused):
            screen.close()


def test_the_command_from_the_code_to_the_page_and_its_end(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "bench.command_line.main", "wall", "--listen", "127.0.0.1:0", "--pair"],
        env={**os.environ, "SPINLEDGER_HOME": str(tmp_path)}, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stderr is not None
    with process.stderr as told:
        paired = told.readline().split()[-1]
        assert "Ctrl-C" in told.readline()
        host = paired.removeprefix("http://").partition("/")[0]
        connection = http.client.HTTPConnection(host, timeout=20)

        def ask(method: str, path: str, **more: object) -> http.client.HTTPResponse:
            connection.request(method, path, **more)  # type: ignore[arg-type]
            answer = connection.getresponse()
            answer.read()
            return answer

        assert ask("GET", "/").status == 401
        assert ask("GET", "/pair").status == 200
        assert ask("POST", "/pair", body="a guess").status == 403
        answer = ask("POST", "/pair", body=paired.partition("#")[2])
        cookie = str(answer.getheader("set-cookie")).partition(";")[0]
        assert ask("GET", "/", headers={"Cookie": cookie}).status == 200
        assert ask("GET", "/", headers={"Cookie": cookie, "Host": "evil.example"}).status == 421
        connection.close()
        process.terminate()
        assert process.wait(timeout=30) == 143
        assert "pair one screen" in told.read()

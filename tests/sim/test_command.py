"""The simulated bench as processes of their own: ports, words in and out, exit codes."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

_LINE = re.compile(rb"wt [+-]\d{5}\.\d g( still| moves)?")


class _Process:
    """One simulated bench and its words."""

    def __init__(self, *words: str) -> None:
        self.run = subprocess.Popen(
            [sys.executable, "-m", "sim", *words],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self.run.stdin is not None
        assert self.run.stdout is not None
        self._in, self._out = self.run.stdin, self.run.stdout

    def hear(self) -> dict[str, Any]:
        return dict(json.loads(self._out.readline()))

    def tell(self, **words: Any) -> None:
        self._in.write(json.dumps(words) + "\n")
        self._in.flush()

    def until(self, word: str) -> dict[str, Any]:
        while True:
            said = self.hear()
            if word in said.get("did", {}):
                return said

    def close(self) -> None:
        if self.run.poll() is None:
            self.run.kill()
        self.run.wait(timeout=10)
        for stream in (self.run.stdin, self.run.stdout, self.run.stderr):
            if stream is not None and not stream.closed:
                stream.close()


@contextmanager
def _process(*words: str) -> Iterator[_Process]:
    process = _Process(*words)
    try:
        yield process
    finally:
        process.close()


def _read_lines(url: str, count: int) -> list[bytes]:
    with socket.create_connection(("127.0.0.1", int(url.rsplit(":", 1)[1])), timeout=10) as client:
        client.settimeout(10)
        data = b""
        while data.count(b"\r\n") < count:
            part = client.recv(4096)
            assert part
            data += part
    return data.split(b"\r\n")[:-1]


def test_a_lone_scale_plays_by_itself_and_follows_words() -> None:
    with _process("scale", "--pace", "50", "--seed", "3") as scale:
        url = scale.hear()["ready"]["url"]
        assert scale.until("lay")["did"]["lay"] == {"kind": "piston", "place": 1}
        lines = _read_lines(url, 60)
        assert all(_LINE.fullmatch(line) for line in lines[1:])
        scale.tell(lift=True)
        scale.tell(lay=603.7)
        while "grams" not in scale.until("lay")["did"]["lay"]:
            pass
        last = _read_lines(url, 60)[-1]
        assert last.startswith(b"wt +00603.")
        scale.tell(unplug=2.0)
        scale.until("unplug")
        scale.until("plug")
        assert _read_lines(url, 3)
        scale.tell(end={})
        assert scale.run.wait(timeout=20) == 0


def test_a_lone_balancing_machine_leaves_texts(tmp_path: Path) -> None:
    with _process("balancer", "--folder", str(tmp_path / "texts")) as machine:
        assert machine.hear() == {"ready": {"folder": str(tmp_path / "texts")}}
        machine.tell(spin={"run": 1})
        machine.until("spin")
        text = (tmp_path / "texts" / "run-001.txt").read_text()
        assert re.fullmatch(
            r"RUN 1\nSPEED 500 rpm\nFRONT AMOUNT (6|7)\d\.\d\d g ANGLE \d+\.\d deg\n"
            r"REAR AMOUNT (3|4)\d\.\d\d g ANGLE \d+\.\d deg\nEND RUN\n",
            text,
        )
        machine.tell(lift={})
        assert "nothing" in machine.hear()
        machine.tell(dance={})
        assert "refused" in machine.hear()
        machine.tell(end={})
        assert machine.run.wait(timeout=20) == 0


def _shop_words(folder: Path) -> list[str]:
    return [
        *("shop", "--seed", "7", "--pace", "60", "--folder", str(folder / "texts")),
        *("--state", str(folder / "state.json"), "--truth", str(folder / "truth.json")),
    ]


def test_a_shop_goes_on_after_it_was_killed(tmp_path: Path) -> None:
    with _process(*_shop_words(tmp_path)) as shop:
        ready = shop.hear()["ready"]
        assert ready["folder"] == str(tmp_path / "texts")
        shop.tell(make={"throw": 1, "target_g": 2157.6})
        shop.until("make")
        shop.tell(taken={})
        shop.until("taken")
        shop.tell(spin={"run": 1})
        shop.until("spin")
        shop.tell(cut={"plane": "rear", "angle_deg": 20.0, "grams": 12.0})
        shop.until("cut")
        os.kill(shop.run.pid, signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
        shop.run.wait(timeout=10)
    with _process(*_shop_words(tmp_path)) as shop:
        shop.hear()
        shop.tell(cut={"plane": "rear", "angle_deg": 20.0, "grams": 12.0})
        assert shop.until("cut")["already"]
        shop.tell(end={})
        assert shop.run.wait(timeout=20) == 0
    truth = json.loads((tmp_path / "truth.json").read_text())
    assert len(truth["cuts"]) == 1
    assert truth["spins"] == 1
    assert truth["bobweights_g"]["1"] == pytest.approx(2157.6, abs=0.16)
    assert set(truth["residual"]) == {"front", "rear"}
    assert truth["parts_g"]["piston 1"] == pytest.approx(586, abs=3)


def test_when_nobody_speaks_any_more_it_writes_the_truth_and_ends(tmp_path: Path) -> None:
    with _process(*_shop_words(tmp_path)) as shop:
        shop.hear()
        shop.tell(lay={"kind": "piston", "place": 1})
        assert shop.run.stdin is not None
        shop.run.stdin.close()
        assert shop.run.wait(timeout=20) == 0
    assert json.loads((tmp_path / "truth.json").read_text())["cuts"] == []


def test_a_killed_line_reader_does_not_end_the_shop(tmp_path: Path) -> None:
    with _process(*_shop_words(tmp_path)) as shop:
        url = shop.hear()["ready"]["scale"]
        for _ in range(5):
            assert _read_lines(url, 4)
        shop.tell(unplug={"seconds": 2})
        shop.until("plug")
        assert _read_lines(url, 4)


def test_two_shops_never_share_a_state(tmp_path: Path) -> None:
    with _process(*_shop_words(tmp_path)) as shop:
        shop.hear()
        second = subprocess.run(
            [sys.executable, "-m", "sim", *_shop_words(tmp_path)],
            capture_output=True,
            text=True,
            timeout=30,
            check=False,
        )
        assert second.returncode == 3
        assert "another shop is at work" in second.stderr


@pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")
def test_a_shop_on_a_pseudo_terminal(tmp_path: Path) -> None:
    with _process(*_shop_words(tmp_path), "--listen", "pty") as shop:
        path = Path(shop.hear()["ready"]["scale"])
        with path.open("rb", buffering=0) as end:
            data = b""
            while data.count(b"\r\n") < 5:
                data += end.read(200)
        assert _LINE.fullmatch(data.split(b"\r\n")[1])
        shop.tell(end={})
        assert shop.run.wait(timeout=20) == 0
        assert not path.exists()


def _run(words: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    from sim.__main__ import main

    try:
        code = main(words)
    except SystemExit as end:
        code = int(end.code or 0)
    threading.Event().wait(0)
    return code, capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["scale", "--listen", "tcp:10.0.0.1:0"], 3, "not this machine's loopback"),
        (["scale", "--pace", "0"], 2, "pace"),
        (["scale", "--seed", "-1"], 2, "whole number from 0"),
        (["scale", "--condition", "C99"], 2, "invalid choice"),
        (["shop"], 2, "--folder"),
        (["shop", "--folder", "x", "--mishaps", "2"], 2, "share from 0 to 1"),
        ([], 2, "required"),
    ],
)
def test_wrong_words(
    words: list[str], code: int, said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: Any
) -> None:
    monkeypatch.chdir(tmp_path)
    found, err = _run(words, capsys)
    assert found == code
    assert said in err
    assert "Traceback" not in err


def test_a_spoilt_state_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "state.json").write_text("no state")
    found, err = _run(["shop", "--folder", str(tmp_path), "--state", str(tmp_path / "state.json")], capsys)
    assert found == 4
    assert "is no state of a shop" in err

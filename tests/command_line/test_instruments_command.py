"""What `instruments` and `listen` tell about ports, profiles and recordings."""

from __future__ import annotations

import json
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from bench.command_line.exit_codes import ExitCode
from bench.command_line.main import run
from bench.command_line.say import explain

GOOD, OVER, BAD = b"wt +00603.8 g still\r\n", b"wt +------- g over\r\n", b"what\r\n"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
    return tmp_path


@pytest.fixture
def sender() -> Iterator[tuple[str, list[bytes]]]:
    """Return the address of a scale, and what it sends over and over."""
    server, stopping = socket.create_server(("127.0.0.1", 0)), threading.Event()
    lines: list[bytes] = [GOOD]

    def serve() -> None:
        server.settimeout(0.1)
        while not stopping.is_set():
            try:
                connection, _ = server.accept()
            except TimeoutError:
                continue
            with connection:
                try:
                    while not stopping.wait(0.01):
                        connection.sendall(b"".join(lines))
                except OSError:
                    continue

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    yield f"socket://127.0.0.1:{server.getsockname()[1]}", lines
    stopping.set()
    thread.join(2.0)
    server.close()


def called(*words: str) -> int:
    try:
        return run(list(words))
    except Exception as fault:  # noqa: BLE001 the last stop of the program, as in main
        return explain(fault)


def test_the_scale_that_is_set_is_told_with_its_state(
    home: Path, sender: tuple[str, list[bytes]], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    url, _ = sender
    monkeypatch.setenv("SPINLEDGER_SCALE", url)
    assert called("instruments", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["scale"] == {
        "url": url,
        "profile": "plain-stream",
        "state": "speaks",
        "detail": '"wt +00603.8 g still"',
        "remedy": "",
    }
    assert "plain-stream" in told["scale_profiles"]
    assert "keyed-block" in told["balancer_profiles"]
    monkeypatch.setenv("SPINLEDGER_SCALE", str(home / "no-such-port"))
    monkeypatch.setenv("SPINLEDGER_BALANCER_FOLDER", str(home / "no-such-folder"))
    assert called("instruments") == 0
    shown = capsys.readouterr().out
    assert "absent; plug the instrument in" in shown
    assert "no-such-folder (absent: make it" in shown


def test_a_torn_profile_is_told_and_stops_no_other(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (home / "profiles").mkdir()
    (home / "profiles" / "torn.toml").write_text('name = "torn"')
    assert called("instruments", "--no-listening") == 0
    shown = capsys.readouterr().out
    assert "scale profile torn: fails" in shown
    assert "numbers: found nothing" in shown
    assert "plain-stream" in shown
    assert "torn" not in next(line for line in shown.splitlines() if line.startswith("scale profiles"))


def test_words_it_does_not_know_are_refused(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert called("instruments", "tries") == ExitCode.INPUT_REFUSED
    assert "try PROFILE FILE" in capsys.readouterr().err


def test_a_recording_is_made_listened_to_and_tried(
    home: Path, sender: tuple[str, list[bytes]], capsys: pytest.CaptureFixture[str]
) -> None:
    url, lines = sender
    path = home / "scale.rec"
    assert called("listen", url, "--lines", "3", "--raw", "--record", str(path)) == 0
    heard = capsys.readouterr()
    assert heard.out.splitlines() == ["603.8 g steady   b'wt +00603.8 g still'"] * 3
    assert "recorded in" in heard.err
    assert called("listen", url, "--lines", "1", "--record", str(path)) == ExitCode.INPUT_REFUSED
    assert "Name another file" in capsys.readouterr().err
    assert called("listen", f"replay:{path}") == 0
    assert "603.8 g steady" in capsys.readouterr().out
    assert called("instruments", "try", "plain-stream", str(path)) == 0
    assert "603.8 g, steady" in capsys.readouterr().out
    assert called("instruments", "try", "print-key", str(path), "--json") == ExitCode.NEGATIVE
    assert {one["is"] for one in json.loads(capsys.readouterr().out)} >= {"fault"}
    (home / "empty.bin").write_bytes(b"")
    assert called("instruments", "try", "plain-stream", str(home / "empty.bin")) != 0
    (home / "torn.rec").write_text('{"recording": 1}\n{"t"\n')
    assert called("instruments", "try", "plain-stream", str(home / "torn.rec")) == ExitCode.INPUT_REFUSED
    assert "line 2" in capsys.readouterr().err
    lines[:] = [OVER, b"wt +00001.2 g moves\r\n"]
    assert called("listen", url, "--lines", "2") == 0
    assert set(capsys.readouterr().out.splitlines()) == {"overload", "1.2 g moving"}


def test_a_scale_that_cannot_be_read_is_told_once_and_leads_to_teaching(
    home: Path,
    sender: tuple[str, list[bytes]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from bench.command_line import listen_command

    monkeypatch.setattr(listen_command, "_PATIENCE_S", 1.0)
    url, lines = sender
    lines[:] = [BAD]
    begun = time.monotonic()
    assert called("listen", url) == ExitCode.TRY_AGAIN
    assert time.monotonic() - begun < 5.0
    shown = capsys.readouterr()
    assert shown.out.count("not read") == 1
    assert shown.err.count("garbled") == 1
    assert "spinledger teach" in shown.err
    assert called("listen", "usb:NOT-THERE") == ExitCode.TRY_AGAIN
    assert "no port has the serial number NOT-THERE" in capsys.readouterr().err
    assert called("listen", "usb:") == ExitCode.INPUT_REFUSED


def test_a_change_of_unit_is_said(
    home: Path, sender: tuple[str, list[bytes]], capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "profiles").mkdir()
    (home / "profiles" / "two.toml").write_text(
        'name = "two"\nunits = { g = "g", kg = "kg" }\nnumbers = { decimal = "." }\nline = [{ text = "{value} {unit}" }]\n'
    )
    url, lines = sender
    lines[:] = [b"603.8 g\r\n" * 4 + b"0.6 kg\r\n" * 4]
    assert called("listen", url, "--scale-profile", "two", "--lines", "12") == 0
    assert "the scale now shows kg, before it was g" in capsys.readouterr().err

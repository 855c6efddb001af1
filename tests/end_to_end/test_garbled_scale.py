"""A scale at the wrong speed is told at the bench as such, with what to do, and goes on when it can be read."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from bench.command_line.instrument_wiring import CapturedPort
from bench.command_line.places import Places
from bench.command_line.settings import InstrumentSettings, Settings
from bench.command_line.wiring import connect_instruments, start_bench
from bench.use_cases.errors import RefusedError
from bench.use_cases.view import BenchView
from drivers.contract import ExportText, LinkChange, LinkState


def until(look: Callable[[], bool], within_s: float = 10.0) -> bool:
    end = time.monotonic() + within_s
    while time.monotonic() < end:
        if look():
            return True
        time.sleep(0.02)
    return look()


def state_of(view: BenchView, name: str) -> tuple[str, str]:
    return next(((one.state, one.remedy) for one in view.instruments if one.name == name), ("", ""))


def test_lines_that_cannot_be_read_are_a_state_with_a_remedy(tmp_path: Path) -> None:
    server = socket.create_server(("127.0.0.1", 0))
    running = start_bench(Places(tmp_path), Settings())
    try:
        connect_instruments(running, Places(tmp_path), scale_url=f"socket://127.0.0.1:{server.getsockname()[1]}")
        connection, _ = server.accept()
        assert until(lambda: state_of(running.desk.view(), "scale")[0] == "open")
        connection.sendall(b"\r\n" + b"w\xf4 +0\xb0603.8\r\n" * 7)
        assert until(lambda: state_of(running.desk.view(), "scale")[0] == "garbled")
        assert "speed and profile" in state_of(running.desk.view(), "scale")[1]
        connection.sendall(b"wt +00000.0 g still\r\n" * 6)
        assert until(lambda: state_of(running.desk.view(), "scale") == ("open", ""))
        # what a single damaged line does: nothing
        connection.sendall(b"w\xf4 +0\xb0603.8\r\n" + b"wt +00000.0 g still\r\n" * 6)
        time.sleep(0.3)
        assert state_of(running.desk.view(), "scale")[0] == "open"
        connection.close()
    finally:
        running.stop()
        server.close()


def test_a_printed_run_is_taken_from_a_port(tmp_path: Path) -> None:
    server = socket.create_server(("127.0.0.1", 0))
    texts: list[ExportText] = []
    changes: list[LinkChange] = []
    machine = InstrumentSettings(
        name="machine", profile="keyed-block", url=f"socket://127.0.0.1:{server.getsockname()[1]}"
    )
    port = CapturedPort(machine, Places(tmp_path), texts.append, changes.append)
    port.start()
    try:
        connection, _ = server.accept()
        # closed also when something here fails, so that no later test stumbles over it
        with connection:
            # what comes before the port is open is thrown away, as with any port that is opened afresh
            assert until(lambda: any(change.state is LinkState.OPEN for change in changes))
            connection.sendall(b"RUN 3\r\nFRONT AMOUNT 12.34 g ANGLE 238.5 deg\r\nREAR AMOUNT 4.10 g ")
            time.sleep(0.1)
            assert not texts
            connection.sendall(b"ANGLE 12.0 deg\r\nEND RUN\r\n")
            assert until(lambda: bool(texts))
            assert texts[0].data.startswith(b"RUN 3")
    finally:
        port.stop()
        server.close()
    with pytest.raises(RefusedError, match="nothing-such"):
        CapturedPort(
            machine.model_copy(update={"profile": "nothing-such"}), Places(tmp_path), texts.append, changes.append
        )

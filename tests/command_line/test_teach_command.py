"""Teaching from the command line: from files without anybody, and by talk with a scale on a loopback port."""

from __future__ import annotations

import json
import socket
import sys
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from bench.command_line import teach_command_hearing
from bench.command_line.exit_codes import ExitCode
from bench.command_line.main import run
from bench.command_line.say import explain
from drivers.contract import LineFault, Reading, SpinReading
from drivers.registry import make_export_reader, make_scale_driver

EXPORT = """Lauf 3   500 rpm
vorn    12,34 g   238,5 Grad
hinten   4,10 g    12,0 Grad
Ende
Lauf 4   510 rpm
vorn     1,10 g     7,0 Grad
hinten   2,25 g   190,5 Grad
Ende
"""
ANGLE = ["--zero", "0", "--sense", "clockwise", "--seen-from", "front", "--shows", "missing"]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
    return tmp_path


def called(*words: str) -> int:
    try:
        return run(list(words))
    except Exception as fault:  # noqa: BLE001 the last stop of the program, as in main
        return explain(fault)


def line(value: str, unit: str = " g") -> bytes:
    return f"wt {value:>8}{unit}\r\n".encode()


def steps(home: Path, *values: str, unit: str = " g") -> list[str]:
    words: list[str] = []
    for number, value in enumerate(values):
        path = home / f"step{number}.bin"
        path.write_bytes(line(value, unit) * 9)
        words += ["--from", str(path), "--shown", f"{value}{' g' if unit else ''}"]
    return words


def test_files_teach_a_scale_and_the_program_finds_it(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = steps(home, "0.0", "603.8", "-603.8")
    assert called("teach", *words, "--name", "mine", "--baud", "4800", "--parity", "even", "--bits", "7") == 0
    told = capsys.readouterr().out
    assert "because 24 settled lines in 3 steps agree" in told
    saved = tomllib.loads((home / "profiles" / "mine.toml").read_text())
    assert saved["port"] == {"baud": 4800, "parity": "even", "bits": 7}
    driver = make_scale_driver("mine", folder=home / "profiles")
    items = driver.feed(b"\r\n" + line("41.3") + line("-0.2"), 0)
    assert [str(item.value) for item in items if isinstance(item, Reading)] == ["41.3", "-0.2"]
    (home / "heard.bin").write_bytes(line("41.3") * 3 + b"what\r\n")
    assert called("instruments", "try", "mine", str(home / "heard.bin")) == ExitCode.NEGATIVE
    told = capsys.readouterr().out
    assert told.count("41.3 g") == 2  # the first line of a stream may have lost its head
    assert 'not read: "what"' in told
    assert called("teach", *words, "--name", "mine") == ExitCode.INPUT_REFUSED
    assert "another name" in capsys.readouterr().err


def test_one_recording_of_ours_teaches_without_anybody(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = line("0.0") * 8 + line("301.2") + line("500.4") + line("603.8") * 8 + line("-603.8") * 8
    items = [{"recording": 1}, {"t": 0, "state": "open", "detail": "", "remedy": ""}]
    items += [{"t": at, "hex": data[at : at + 50].hex()} for at in range(0, len(data), 50)]
    path = home / "all.rec"
    path.write_text("".join(json.dumps(item) + "\n" for item in items))
    words = ["teach", "--from", str(path), "--shown", "0.0 g", "--shown", "603.8 g", "--shown", "-603.8 g"]
    assert called(*words, "--dry-run", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["taught"]
    assert told["file"] == ""
    assert tomllib.loads(told["profile"])["line"][0]["text"] == "wt~{value} {unit}"
    assert not (home / "profiles").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["0.0", "603.8"], "type it with the number"),
        (["0.0", "122.1"], "both ends"),
        (["0.0", "0.0"], "put a part"),
    ],
)
def test_what_is_not_certain_is_not_saved(
    home: Path, words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    given = [one.removesuffix(" g") for one in steps(home, *words, unit="")]
    assert called("teach", *given) == ExitCode.INPUT_REFUSED
    shown = capsys.readouterr()
    assert shown.out == ""
    assert told in shown.err
    assert not (home / "profiles").exists()


def test_slips_of_the_person_are_refused_in_words(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = steps(home, "0.0", "603.8", "-603.8")
    words[words.index("603.8 g")] = "608.3 g"
    assert called("teach", *words, "--json") == ExitCode.INPUT_REFUSED
    told = json.loads(capsys.readouterr().out)
    assert not told["taught"]
    assert "608.3" in told["found"] + told["wanted"]
    assert called("teach", "--shown", "0 g") == ExitCode.INPUT_REFUSED
    assert called("teach", *words[:8], "--shown", "1 g") == ExitCode.INPUT_REFUSED
    assert "2 files and 3 numbers" in capsys.readouterr().err
    assert called("teach", *steps(home, "0.0", "603.8"), "--name", "Not A Name") == ExitCode.INPUT_REFUSED
    assert called("teach", "--from", str(home / "nothing"), "--shown", "0 g") == ExitCode.INPUT_REFUSED


def test_a_text_teaches_a_balancing_machine(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = home / "run.txt"
    path.write_text(EXPORT)
    words = ["teach", "--from", str(path), "--shown", "front 12.34 @ 238.5", "--shown", "rear 4.10 @ 12.0"]
    assert called(*words) == ExitCode.INPUT_REFUSED
    assert "--sense" in capsys.readouterr().err
    assert called(*words, *ANGLE, "--name", "spun") == 0
    told = capsys.readouterr()
    assert "heavy at 301.5°" in told.err  # clockwise from the front, missing mass: 180 - 238.5 + 360
    runs = make_export_reader("spun", folder=home / "profiles").read(path.read_bytes())
    assert [[str(p.amount) for p in run.planes] for run in runs if isinstance(run, SpinReading)] == [
        ["12.34", "4.10"],
        ["1.10", "2.25"],
    ]
    assert called("instruments", "try", "spun", str(path)) == 0
    words[4] = "front 12.43 @ 238.5"
    assert called(*words, *ANGLE, "--name", "other") == ExitCode.INPUT_REFUSED
    assert called("teach", "--from", str(path), "--shown", "front 12.34 at 2", "--shown", "rear @ 12.0") == 4
    capsys.readouterr()
    assert called(*words, *ANGLE, "--json") == ExitCode.INPUT_REFUSED
    assert not json.loads(capsys.readouterr().out)["taught"]


class LoopbackScale:
    """A scale on a loopback port that sends what its display shows, a hundred lines a second."""

    def __init__(self, dress: Callable[[str], bytes]) -> None:
        self.display = "0.0"
        self._dress = dress
        self._server = socket.create_server(("127.0.0.1", 0))
        self.address = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self._stopping = False
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        self._server.settimeout(0.2)
        while not self._stopping:
            try:
                connection, _ = self._server.accept()
            except TimeoutError:
                continue
            with connection:
                try:
                    while not self._stopping:
                        connection.sendall(self._dress(self.display))
                        time.sleep(0.01)
                except OSError:
                    continue

    def close(self) -> None:
        self._stopping = True
        self._thread.join(2.0)
        self._server.close()


class Person:
    """Does what each question asks, then answers it."""

    def __init__(self, scale: LoopbackScale, script: list[tuple[str, str]]) -> None:
        self._scale = scale
        self._script = script
        self.answers = 0

    def isatty(self) -> bool:
        return True

    def readline(self) -> str:
        if not self._script:
            return ""
        display, answer = self._script.pop(0)
        if display:
            self._scale.display = display
            time.sleep(0.05)
        self.answers += 1
        return answer + "\n"


@pytest.fixture
def scale() -> Iterator[Callable[[Callable[[str], bytes]], LoopbackScale]]:
    made: list[LoopbackScale] = []

    def make(dress: Callable[[str], bytes]) -> LoopbackScale:
        made.append(LoopbackScale(dress))
        return made[-1]

    yield make
    for one in made:
        one.close()


def bare(value: str) -> bytes:
    return f"{value:>9}\r\n".encode()


def talked(monkeypatch: pytest.MonkeyPatch, scale: LoopbackScale, script: list[tuple[str, str]], *words: str) -> int:
    monkeypatch.setattr(sys, "stdin", Person(scale, script))
    return called("teach", "scale", "--port", scale.address, *words)


def test_a_slip_a_missing_unit_and_a_taken_name_are_put_right_by_talk(
    home: Path, scale: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "profiles").mkdir()
    (home / "profiles" / "taken.toml").write_text('name = "taken"')
    script = [
        ("", "0.0"),  # step 1
        ("603.8", "much"),  # no number
        ("", "608.3"),  # a slip: refused, and listened to again
        ("", "603.8"),
        ("", "g"),  # the lines name no unit
        ("-603.8", "603.8"),  # not negative
        ("", "-603.8"),
        ("", "no"),  # overload
        ("207.4", ""),
        ("", "y"),
        ("", "taken"),
        ("", "door"),
        ("", "n"),
    ]
    assert talked(monkeypatch, scale(bare), script) == 0, capsys.readouterr()
    assert script == []
    told = capsys.readouterr().out
    assert "Not understood" in told
    assert "I read 207.4 g" in told
    assert "there is one of that name" in told
    assert tomllib.loads((home / "profiles" / "door.toml").read_text())["unit"] == "g"
    assert not (home / "settings.toml").exists()


def test_a_no_at_the_end_saves_nothing(
    home: Path, scale: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    script = [("", "0.0 g"), ("603.8", "603.8 g"), ("", ""), ("", "n"), ("207.4", ""), ("", "no"), ("", "999.9 g")]
    assert talked(monkeypatch, scale(line), script) == ExitCode.INPUT_REFUSED
    assert "Nothing was saved" in capsys.readouterr().out
    assert not (home / "profiles").exists()


def test_leaving_nobody_there_and_a_port_that_is_absent(
    home: Path, scale: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    strange = scale(line)
    assert talked(monkeypatch, strange, [("", "quit")]) == ExitCode.INTERRUPTED
    assert talked(monkeypatch, strange, [("", "0.0 g")]) == ExitCode.INPUT_REFUSED
    assert "nothing was saved" in capsys.readouterr().err
    strange.close()
    monkeypatch.setattr(teach_command_hearing, "_TROUBLE_S", 0.3)
    assert talked(monkeypatch, strange, [], "--name", "x") == ExitCode.TRY_AGAIN
    assert "absent" in capsys.readouterr().out
    assert not (home / "profiles").exists()


def test_overload_is_learnt_and_read(home: Path, scale: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    script = [
        ("", "0.0 g"), ("603.8", "603.8 g"), ("-603.8", "-603.8 g"), ("8888.8", "yes"), ("207.4", ""), ("", "y"), ("", "y")
    ]  # fmt: skip
    strange = scale(line)
    assert talked(monkeypatch, strange, script, "--name", "over") == 0
    driver = make_scale_driver("over", folder=home / "profiles")
    items = driver.feed(b"\r\n" + line("8888.8") + line("1.0"), 0)
    assert [item.value is None for item in items if isinstance(item, Reading)] == [True, False]
    assert not [item for item in items if isinstance(item, LineFault)]
    kept = tomllib.loads((home / "settings.toml").read_text())["scale"]
    assert kept == {"profile": "over", "url": strange.address}


def test_a_text_is_taught_by_talk(
    home: Path, scale: Any, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = home / "runs" / "run.txt"
    path.parent.mkdir()
    path.write_text(EXPORT)
    answers = [str(path), "12.34", "238.5", "4.10", "12.0", "g", "0", "clockw", "front", "missing", "", "", "spun", ""]
    monkeypatch.setattr(sys, "stdin", Person(scale(line), [("", answer) for answer in answers]))
    assert called("teach", "export") == 0
    assert "heavy at 301.5°" in capsys.readouterr().out
    kept = tomllib.loads((home / "settings.toml").read_text())["balancer"]
    assert kept == {"profile": "spun", "folder": str(path.parent)}

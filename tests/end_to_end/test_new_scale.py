"""From a scale nobody has described to the first taken weight, at a terminal, as a new user would."""

from __future__ import annotations

import json
import os
import re
import select
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from strange_scale import StrangeScale

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are a POSIX thing")
PROGRAM = [sys.executable, "-m", "bench.command_line.main"]
MOST_ANSWERS = 20


class Person:
    """Reads a terminal and types; counts what is typed."""

    def __init__(self, home: Path) -> None:
        self.answers = 0
        self.read = ""
        self._env = {**os.environ, "SPINLEDGER_HOME": str(home), "SPINLEDGER_BY": "nu", "TERM": "dumb"}

    def start(self, *words: str) -> None:
        self._ours, theirs = os.openpty()
        self._program = subprocess.Popen(
            [*PROGRAM, *words], stdin=theirs, stdout=theirs, stderr=theirs, env=self._env, start_new_session=True
        )
        os.close(theirs)
        self.read = ""

    def wait_for(self, words: str, *, within_s: float = 60.0) -> str:
        """Read until these words stand at the end of what is new; return all that is new."""
        end = time.monotonic() + within_s
        while time.monotonic() < end:
            found = re.search(words, self.read)
            if found is not None:
                seen, self.read = self.read[: found.end()], self.read[found.end() :]
                return seen
            if select.select([self._ours], [], [], 0.2)[0]:
                try:
                    self.read += os.read(self._ours, 4096).decode()
                except OSError:
                    break
        raise AssertionError(f"never read {words!r}; the terminal shows:\n{self.read}")

    def answer(self, question: str, text: str) -> str:
        seen = self.wait_for(question)
        os.write(self._ours, (text + "\n").encode())
        self.answers += 1
        return seen

    def ended(self) -> int:
        while self._program.poll() is None:
            if select.select([self._ours], [], [], 0.1)[0]:
                try:
                    self.read += os.read(self._ours, 4096).decode()
                except OSError:
                    break
        return self._program.wait(20.0)

    def interrupt(self) -> None:
        self._program.terminate()
        self._program.wait(20.0)


@pytest.fixture
def scale() -> Iterator[StrangeScale]:
    strange = StrangeScale()
    yield strange
    strange.close()


@pytest.mark.long
@pytest.mark.timeout(300)
def test_an_unknown_scale_to_the_first_taken_weight(tmp_path: Path, scale: StrangeScale) -> None:
    person = Person(tmp_path)
    person.start("teach")
    person.answer(r"taught\? \(.*\]", "scale")
    person.answer(r"Which port .*|Name its port .*:", scale.address)
    person.answer(r"Step 1: .*\?", scale.settled())
    person.wait_for(r"heard .*\n")
    scale.tell(lay=503.7)
    person.answer(r"Step 2: .*\?", f"{scale.settled(differs_from='0')} g")
    asked = person.wait_for(r"Step 3: [^\n]*\)")
    assert "Not understood" not in asked, asked
    scale.tell(key="tare")
    time.sleep(1.0)
    scale.tell(lift={})
    while float(lifted := scale.settled(differs_from="0")) > 0:
        time.sleep(0.1)
    person.answer("", lifted)
    person.answer(r"overload, and hold it\?", "n")
    scale.tell(lay=612.4)
    shown = scale.settled(differs_from=lifted)
    why = person.answer(r"press Enter\.", "")
    assert "because" in why
    assert "check characters hold" in why
    read = person.answer(r"Is that what the display shows\?", "y")
    assert f"I read {shown} g" in read or abs(float(re.findall(r"I read (-?[0-9.]+)", read)[0]) - float(shown)) < 0.3
    person.answer(r"A name for this profile:", "pan-by-the-door")
    person.answer(r"from now on\?", "")
    person.wait_for("Next: spinledger weigh JOB")
    assert person.ended() == 0

    profile = tomllib.loads((tmp_path / "profiles" / "pan-by-the-door.toml").read_text())
    assert profile["numbers"]["decimal"] == ","
    assert profile["checksum"]["kind"] == "sum"
    assert profile["state"] == {"steady": ["QA"], "moving": ["QB"]}
    settings = tomllib.loads((tmp_path / "settings.toml").read_text())
    assert settings["scale"] == {"profile": "pan-by-the-door", "url": scale.address}

    scale.tell(lift={})
    scale.tell(key="tare")
    spec = subprocess.run([*PROGRAM, "job", "new", "--example"], capture_output=True, text=True, check=True).stdout
    (tmp_path / "job.json").write_text(spec)
    opened = subprocess.run(
        [*PROGRAM, "job", "new", "--from", str(tmp_path / "job.json"), "--by", "nu"],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "SPINLEDGER_HOME": str(tmp_path)},
    )
    number = re.findall(r"[0-9]{4}-[0-9]{4}", opened.stdout + opened.stderr)[0]
    person.start("weigh", number)
    person.wait_for(r"> [^\n]*piston")
    time.sleep(3.0)
    scale.tell(lay=603.7)
    taken = person.wait_for(r"taken: piston 1, [0-9.]+ g")
    assert abs(float(re.findall(r"taken: piston 1, ([0-9.]+)", taken)[0]) - 603.7) < 0.5
    person.interrupt()
    print(f"{person.answers} answers from an unknown scale to the first taken weight")
    assert person.answers < MOST_ANSWERS
    trail = subprocess.run(
        [*PROGRAM, "trail", number, "--json"],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "SPINLEDGER_HOME": str(tmp_path)},
    )
    # the scale's own lines are kept with the weight
    kept = [line for event in json.loads(trail.stdout) for line in event.get("raw", [])]
    assert any(re.fullmatch(r"Q[AB];\+; +603,[5-9];g;[0-9A-F]{2}", line) for line in kept), kept

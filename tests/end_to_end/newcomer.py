"""Somebody new at the bench, in a real terminal: reads what stands on the screen and presses only what it names."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

LOOK_S = 0.4
AFTER_A_KEY_S = 1.0
PATIENCE_S = 1.5
"""Nobody presses the same key again at once because the screen is a moment late. [s]"""


@dataclass
class Terminal:
    """A terminal of its own, driven through tmux."""

    home: Path
    columns: int = 80
    rows: int = 24
    pace: int = 15
    name: str = field(init=False)

    def __post_init__(self) -> None:
        self.name = f"newcomer-{os.getpid()}-{time.monotonic_ns()}"

    def _tmux(self, *words: str) -> str:
        return subprocess.run(
            ["tmux", "-L", self.name, *words], capture_output=True, text=True, encoding="utf-8", check=False
        ).stdout

    def start(self, *words: str) -> None:
        command = shlex.join([sys.executable, "-m", "bench.command_line.main", *words])
        kept = f"SPINLEDGER_HOME={shlex.quote(str(self.home))} SPINLEDGER_PACE={self.pace} TERM=xterm-256color"
        size = ("-x", str(self.columns), "-y", str(self.rows))
        self._tmux("-f", "/dev/null", "new-session", "-d", "-s", "bench", *size, f"env {kept} {command}; sleep 600")

    def screen(self) -> str:
        return self._tmux("capture-pane", "-p", "-t", "bench")

    def press(self, key: str) -> None:
        self._tmux("send-keys", "-t", "bench", key)

    def end(self) -> None:
        self._tmux("kill-server")


@dataclass(frozen=True)
class Cue:
    """What is pressed when this stands on the screen."""

    reads: str
    key: Callable[[re.Match[str]], str]
    note: str


KEY_NAMES = {"PgDn": "PageDown"}
# the first that is found on the screen is followed; each names the key itself
CUES = (
    Cue(r"^▌\s+(\w)\s+Try it on a simulated bench", lambda found: found[1], "the first thing that is offered"),
    Cue(r"(PgDn)\s+\S[^\n]*\n?.*\n.*\? ", lambda found: KEY_NAMES[found[1]], "the first answer of a question"),
    Cue(r"Once more records it", lambda _: "PageDown", "said that once more records it"),
    Cue(r"Sign the job off[\s\S]*Do it", lambda _: "PageDown", "the pedal goes through the card"),
    Cue(r"\[ \] every hole deburred[\s\S]*then press (o)", lambda found: found[1], "told to press o"),
    Cue(r"\b(c) writes the certificate\.(?![\s\S]*being written)", lambda found: found[1], "told to press c"),
    Cue(r"cut \d+ of \d+:[\s\S]*(PgDn) yes", lambda found: KEY_NAMES[found[1]], "drilled as the card says: yes"),
)
FINISHED = re.compile(r"certificate: .*\.html|certificate written")


@dataclass
class Newcomer:
    """Reads, presses, and writes down both."""

    terminal: Terminal
    transcript: list[str] = field(default_factory=list[str])
    pressed: list[tuple[str, str]] = field(default_factory=list[tuple[str, str]])
    screens: list[str] = field(default_factory=list[str])
    _at: float = 0.0

    def until_certificate(self, *, most_s: float) -> bool:
        until = time.monotonic() + most_s
        last = ""
        while time.monotonic() < until:
            screen = self.terminal.screen()
            said = next((line for line in reversed(screen.splitlines()) if re.match(r" [●▲?·] ", line)), "")
            if said and said != last:
                last = said
                self.transcript.append(f"screen: {said.strip()}")
            if FINISHED.search(screen):
                self.screens.append(screen)
                return True
            self._follow(screen)
            time.sleep(LOOK_S)
        self.screens.append(self.terminal.screen())
        return False

    def _follow(self, screen: str) -> None:
        for cue in CUES:
            found = re.search(cue.reads, screen, re.MULTILINE)
            if found:
                key = cue.key(found)
                if self.pressed and self.pressed[-1] == (key, cue.note) and time.monotonic() - self._at < PATIENCE_S:
                    return
                self._at = time.monotonic()
                self.screens.append(screen)
                self.pressed.append((key, cue.note))
                self.transcript.append(f"key:    {key} ({cue.note})")
                self.terminal.press(key)
                time.sleep(AFTER_A_KEY_S)
                return

"""The computer's side of the health check: settings, terminal, program, instruments, drivers."""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from bench.command_line.doctor_finding import Finding, fault, fine, look
from bench.command_line.settings import Settings

LEAST_SQLITE = (3, 37, 0)
"""STRICT tables are known from here on."""
SMALLEST, COMFORTABLE = (40, 10), (80, 24)
READY = "open"
AWAY = {"busy": "port-busy", "forbidden": "port-rights", "absent": "port-absent"}


@dataclass(frozen=True, slots=True)
class TerminalSeen:
    """What is known of the terminal without asking a person.

    Attributes
    ----------
    is_terminal : bool
        Standard output goes to one.
    encoding : str
        Of standard output.
    columns, lines : int
        Its size; 0 where unknown.
    kind : str
        TERM.
    """

    is_terminal: bool
    encoding: str
    columns: int
    lines: int
    kind: str


def terminal_now() -> TerminalSeen:
    """Return the terminal as it is.

    Returns
    -------
    TerminalSeen
        Size 0 by 0 where standard output is none.
    """
    try:
        columns, lines = os.get_terminal_size(sys.stdout.fileno())
    except (OSError, ValueError):
        columns, lines = 0, 0
    return TerminalSeen(sys.stdout.isatty(), sys.stdout.encoding or "", columns, lines, os.environ.get("TERM", ""))


def check_terminal(seen: TerminalSeen) -> list[Finding]:
    """Look at the terminal.

    Parameters
    ----------
    seen : TerminalSeen
        As it is.

    Returns
    -------
    list[Finding]
        At least one.
    """
    if not seen.is_terminal:
        return [look("terminal-none", "terminal", "output goes to no terminal", "run this in the shop's own terminal")]
    found: list[Finding] = []
    if seen.encoding.lower().replace("-", "") != "utf8":
        remedy = "set the terminal and LANG to UTF-8; until then pictures are drawn with --glyphs ascii"
        found.append(look("terminal-encoding", "terminal", f"the encoding is {seen.encoding or 'unknown'}", remedy))
    if seen.kind in {"dumb", "unknown"} or (not seen.kind and os.name != "nt"):
        remedy = "use `spinledger weigh` in plain lines, or another terminal"
        found.append(look("terminal-dumb", "terminal", f"TERM is '{seen.kind}'", remedy))
    size = f"{seen.columns} x {seen.lines}"
    if 0 < seen.columns < SMALLEST[0] or 0 < seen.lines < SMALLEST[1]:
        found.append(
            fault("terminal-small", "terminal", size, "make the window at least 40 x 10, or the letters smaller")
        )
    elif seen.columns < COMFORTABLE[0] or seen.lines < COMFORTABLE[1]:
        found.append(look("terminal-narrow", "terminal", size, "80 x 24 shows everything side by side"))
    return found or [
        fine("terminal", "terminal", f"{size}, {seen.encoding}, {seen.kind}; `--keys` shows what keys send")
    ]


def check_program(home: Path, *, sqlite_version: Sequence[int] = sqlite3.sqlite_version_info) -> list[Finding]:
    """Look at the program's own ground.

    Parameters
    ----------
    home : Path
        Folder of record and settings.
    sqlite_version : Sequence[int]
        Of the library that Python uses.

    Returns
    -------
    list[Finding]
        At least one.
    """
    from bench import __version__

    found: list[Finding] = []
    version = ".".join(str(part) for part in sqlite_version)
    if tuple(sqlite_version) < LEAST_SQLITE:
        found.append(fault("sqlite-old", "program", f"SQLite {version}", "install a Python with SQLite 3.37 or newer"))
    if home.exists() and not home.is_dir():
        found.append(fault("home-no-folder", "program", f"{home} is no folder", "move it away, or set SPINLEDGER_HOME"))
    if (home / "last-fault.txt").exists():
        remedy = "`spinledger doctor --report FILE` shows what to send to who keeps the program; then delete that file"
        found.append(
            look("last-fault", "program", f"a mistake of the program is written in {home / 'last-fault.txt'}", remedy)
        )
    python = ".".join(str(part) for part in sys.version_info[:3])
    return [*found, fine("program", "program", f"spinledger {__version__}, Python {python}, SQLite {version}")]


class PortLike(Protocol):
    """What is asked of a port here."""

    @property
    def url(self) -> str:
        """How it is opened."""
        ...


class StateLike(Protocol):
    """What is asked of a port's state here."""

    @property
    def port(self) -> PortLike:
        """Which port."""
        ...

    @property
    def state(self) -> str:
        """How it is."""
        ...

    @property
    def detail(self) -> str:
        """What the system said."""
        ...

    @property
    def remedy(self) -> str:
        """The next step."""
        ...


def check_ports(settings: Settings, states: Sequence[StateLike]) -> list[Finding]:
    """Look at the ports that the settings name.

    Parameters
    ----------
    settings : Settings
        The instruments.
    states : Sequence[StateLike]
        Each port that was looked at, as it is now.

    Returns
    -------
    list[Finding]
        At least one.
    """
    found: list[Finding] = []
    if not settings.scale.url:
        remedy = "`spinledger instruments` lists ports; `spinledger settings --set scale.url=PORT` keeps one"
        found.append(look("scale-none", "instruments", "no scale is set", remedy))
    for one in states:
        state = str(one.state)
        words = f"{one.port.url}: {state}" + (f" ({one.detail})" if one.detail else "")
        if state in AWAY:
            found.append(fault(AWAY[state], "instruments", words, one.remedy))
        elif state == READY:
            found.append(fine("port", "instruments", f"{one.port.url}: lines come"))
        else:
            found.append(look(f"port-{state}", "instruments", words, one.remedy or "switch the instrument on"))
    return [*found, *_folder(settings)]


def _folder(settings: Settings) -> list[Finding]:
    if not settings.balancer.folder:
        return []
    folder = Path(settings.balancer.folder).expanduser()
    if not folder.is_dir():
        remedy = "look at the cable or share, or set balancer.folder anew"
        return [fault("folder-absent", "instruments", f"{folder} is not there", remedy)]
    if not os.access(folder, os.R_OK | os.X_OK):
        return [
            fault("folder-rights", "instruments", f"{folder} cannot be read", "give this user the right to read it")
        ]
    return [fine("folder", "instruments", f"{folder} is there")]


class DriverLike(Protocol):
    """What is asked of a driver's state here."""

    @property
    def name(self) -> str:
        """What it is called."""
        ...

    @property
    def origin(self) -> str:
        """Where it comes from."""
        ...

    @property
    def foreign(self) -> bool:
        """It is not from this program."""
        ...

    @property
    def state(self) -> str:
        """How it is: "works", "not asked for" or "fails"."""
        ...

    @property
    def words(self) -> str:
        """Why it does not work."""
        ...


def check_drivers(states: Sequence[DriverLike]) -> list[Finding]:
    """Look at every driver and profile.

    Parameters
    ----------
    states : Sequence[DriverLike]
        Each tried once.

    Returns
    -------
    list[Finding]
        One for all that work, one for each that does not.
    """
    works = [one for one in states if one.state == "works"]
    found = [fine("drivers", "drivers", f"{len(works)} drivers and profiles work")]
    for one in states:
        if one.state == "works" and one.foreign:
            words = f"plug-in {one.name} runs in a process of its own ({one.origin}, as it was allowed)"
            found.append(fine("driver-plug-in", "drivers", words))
        if one.state == "fails":
            remedy = "correct or remove it; the others go on"
            found.append(fault("driver-fails", "drivers", f"{one.name} ({one.origin}): {one.words}", remedy))
        elif one.state == "not asked for":
            remedy = "leave it, or add it to 'plugins' in the settings when you trust it"
            found.append(
                look("driver-foreign", "drivers", f"{one.name} ({one.origin}) is there and is not loaded", remedy)
            )
    return found


def check_environment(environment: Mapping[str, str]) -> list[Finding]:
    """Look at variables that change what the program does.

    Parameters
    ----------
    environment : Mapping[str, str]
        The process's.

    Returns
    -------
    list[Finding]
        One for each that is worth a look.
    """
    home = environment.get("SPINLEDGER_HOME", "")
    if home and not Path(home).expanduser().is_absolute():
        remedy = "set SPINLEDGER_HOME to a full path, so that every folder finds the same record"
        return [fault("home-relative", "program", f"SPINLEDGER_HOME is '{home}'", remedy)]
    return []

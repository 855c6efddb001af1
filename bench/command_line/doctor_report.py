"""`spinledger doctor --report FILE`: what may be sent to who keeps the program, shown whole before it is written."""

from __future__ import annotations

import getpass
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode

if TYPE_CHECKING:
    from bench.command_line.doctor_finding import Finding
    from bench.command_line.places import Places

LONGEST_FAULT = 200_000
HOME, USER = "[home]", "[user]"


def report_text(findings: Sequence[Finding], places: Places) -> str:
    """Return the report: findings and the last fault, without names of customers, jobs and whoever is logged in.

    Parameters
    ----------
    findings : Sequence[Finding]
        What the doctor found.
    places : Places
        For the last fault, and for the record, which is asked for the names to be withheld.

    Returns
    -------
    str
        Lines that a terminal shows and does not obey; where the record cannot be asked, findings by their ids only.
    """
    from bench.command_line.fault_file import names_of, withheld
    from bench.command_line.say import printable

    names = names_of(places.record)
    if names is None:
        lines = ["What was found is told by its id only: the record could not be asked for the names it may hold."]
        lines += [f"{one.how.value:<6} {one.area:<12} {one.id}" for one in findings]
    else:
        lines = [f"{one.how.value:<6} {one.area:<12} {one.words}" for one in findings]
    fault = places.home / "last-fault.txt"  # written without names already
    if fault.is_file():
        with fault.open("rb") as file:
            lines += ["", "last fault:", *file.read(LONGEST_FAULT).decode("utf-8", "replace").splitlines()]
    text = "\n".join(lines)
    if names:
        text = withheld(text, names)
    for said, mark in ((str(Path.home()), HOME), (_user(), USER)):
        text = withheld(text, {said}, mark=mark)
    return "".join(f"{printable(line)}\n" for line in text.splitlines())


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return ""


def write_report(path: Path, findings: Sequence[Finding], places: Places, *, as_shown: bool) -> int:
    """Show the report whole, and write it when somebody has agreed.

    Parameters
    ----------
    path : Path
        A new file.
    findings : Sequence[Finding]
        What the doctor found.
    places : Places
        Where the bench keeps its things.
    as_shown : bool
        It was seen before and may be written.

    Returns
    -------
    int
        Exit code; 2 when nobody agreed.

    Raises
    ------
    RefusedError
        When the file is there already or cannot be written.
    """
    from bench.command_line.say import line, talk
    from bench.use_cases.errors import RefusedError

    text = report_text(findings, places)
    for each in text.splitlines():
        line(each)
    if not as_shown and not _agreed(path):
        talk("nothing was written; at a terminal you are asked, elsewhere --as-shown says that it may be")
        return ExitCode.USAGE
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except OSError as fault:
        do = "name another file" if isinstance(fault, FileExistsError) else "look at the folder's rights"
        raise RefusedError(str(path), found=fault.strerror or str(fault), wanted="a new file", do=do) from fault
    talk(f"written: {path}. Nothing was sent; it is yours to send")
    return ExitCode.FINE


def _agreed(path: Path) -> bool:
    from bench.command_line.say import talk

    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        return False
    talk(f"This and nothing else would be written to {os.fspath(path)}. Is that fine? yes or no:")
    return sys.stdin.readline().strip().casefold() in {"y", "yes"}

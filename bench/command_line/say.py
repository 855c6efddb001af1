"""Everything a command prints goes through here: plain lines, cleaned of what a terminal would obey."""

from __future__ import annotations

import json
import os
import sys
import traceback
import unicodedata
from collections.abc import Mapping
from pathlib import Path

from bench.command_line.exit_codes import ExitCode


def printable(text: str) -> str:
    """Return text in which nothing acts on a terminal: controls, direction marks and zero-width become visible.

    Parameters
    ----------
    text : str
        Anything from outside.

    Returns
    -------
    str
        One line, every hidden character as its code in angle brackets.
    """
    out: list[str] = []
    for char in text:
        category = unicodedata.category(char)
        if category in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}:
            out.append(f"<{ord(char):02X}>")
        else:
            out.append(char)
    return "".join(out)


def line(text: str) -> None:
    """Print one line on stdout and flush, so that a reader sees it at once.

    Parameters
    ----------
    text : str
        The line; cleaned here.
    """
    encoding = sys.stdout.encoding or "utf-8"
    print(printable(text).encode(encoding, "replace").decode(encoding), flush=True)


def talk(text: str) -> None:
    """Print one line on stderr: talk beside the answer.

    Parameters
    ----------
    text : str
        The line; cleaned here.
    """
    encoding = sys.stderr.encoding or "utf-8"
    print(printable(text).encode(encoding, "replace").decode(encoding), file=sys.stderr, flush=True)


def document(value: object) -> None:
    """Print one JSON document on stdout; everything beyond ASCII is escaped.

    Parameters
    ----------
    value : object
        Lists, mappings, strings, numbers.
    """
    print(json.dumps(value, indent=2, ensure_ascii=True, default=str, allow_nan=False), flush=True)


def table(rows: list[Mapping[str, str]], columns: Mapping[str, str]) -> None:
    """Print rows as aligned columns with a heading.

    Parameters
    ----------
    rows : list[Mapping[str, str]]
        Texts by key.
    columns : Mapping[str, str]
        Key to heading, in order.
    """
    cells = [dict(columns)] + [{key: printable(str(row.get(key, ""))) for key in columns} for row in rows]
    widths = {key: max(len(row[key]) for row in cells) for key in columns}
    for row in cells:
        line("  ".join(row[key].ljust(widths[key]) for key in columns).rstrip())


def explain(fault: BaseException) -> int:
    """Say on stderr what went wrong and return the exit code that fits.

    Parameters
    ----------
    fault : BaseException
        What was raised.

    Returns
    -------
    int
        Exit code.
    """
    from bench.use_cases.errors import RefusedError

    if isinstance(fault, RefusedError):
        talk(str(fault))
        return ExitCode.USAGE if fault.of_settings else ExitCode.INPUT_REFUSED
    record_code = _record_fault(fault)
    if record_code is not None:
        talk(str(fault))
        return record_code
    where = _write_down(fault)
    talk(f"spinledger: this is our mistake ({type(fault).__name__}); nothing that was shown as taken is lost. {where}")
    return ExitCode.OUR_BUG


def _record_fault(fault: BaseException) -> int | None:
    from bench.trail import errors

    if isinstance(fault, errors.RecordBusyError):
        return ExitCode.TRY_AGAIN
    if isinstance(fault, errors.NewerRecordError):
        return ExitCode.USAGE
    if isinstance(fault, (errors.RecordDamagedError, errors.ForeignFileError)):
        return ExitCode.NOT_WHOLE
    if isinstance(fault, errors.RecordError):
        return ExitCode.STORAGE
    return None


def _write_down(fault: BaseException) -> str:
    text = "".join(traceback.format_exception(fault))
    if os.environ.get("SPINLEDGER_TRACE"):
        talk(text)
    from bench.command_line.fault_file import fault_text
    from bench.command_line.places import find_places

    places = find_places()
    path = Path(places.home) / "last-fault.txt"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(fault_text(fault, places.record), encoding="utf-8")
    except OSError:
        return "Set SPINLEDGER_TRACE=1 to see where."
    return f"Where it happened is written in {path}, without customers' names; look through it before you send it."


def entries(count: int) -> str:
    """Return a number of entries in words.

    Parameters
    ----------
    count : int
        How many.

    Returns
    -------
    str
        "1 entry", "74 entries".
    """
    return "1 entry" if count == 1 else f"{count} entries"

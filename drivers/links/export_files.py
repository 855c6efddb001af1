"""One export file, read whole or refused with the reason."""

from __future__ import annotations

import hashlib
import os
import stat
from pathlib import Path

from drivers.balancers.text_lines import EXPORT_CAP
from drivers.contract import ExportText
from drivers.showing import shown_size


class ExportFileError(Exception):
    """A file that is not read: which, what it is, what is wanted, what to do.

    Parameters
    ----------
    path : Path
        The file.
    found : str
        What it is.
    wanted : str
        What would be read.
    do : str
        The next step.
    """

    def __init__(self, path: Path, *, found: str, wanted: str, do: str) -> None:
        super().__init__(f"{path.name}: found {found}; wanted {wanted}; {do}")
        self.path = path
        self.found = found
        self.wanted = wanted
        self.do = do


def read_export_file(path: Path, max_bytes: int = EXPORT_CAP, *, at_ns: int = 0) -> ExportText:
    """Read one file.

    Parameters
    ----------
    path : Path
        The file; only a regular one is read.
    max_bytes : int
        Largest size. [bytes]
    at_ns : int
        Monotonic moment to note with it. [ns]

    Returns
    -------
    ExportText
        Its name, bytes and digest.

    Raises
    ------
    ExportFileError
        If it is missing, forbidden, a folder, a pipe, a device, or too large.
    """
    wanted = f"a regular file of at most {shown_size(max_bytes)}"
    try:
        # Opening a pipe or a device in this way returns at once instead of waiting for the other end.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except OSError as error:
        found = error.strerror or str(error)
        raise ExportFileError(path, found=found, wanted=wanted, do="check name and rights of the file") from error
    facts = os.fstat(handle)
    if not stat.S_ISREG(facts.st_mode):
        os.close(handle)
        raise ExportFileError(path, found=_sort(facts.st_mode), wanted=wanted, do="name the exported file itself")
    with os.fdopen(handle, "rb") as file:
        if facts.st_size > max_bytes:
            do = "check that this is the machine's text and no other file"
            raise ExportFileError(path, found=shown_size(facts.st_size), wanted=wanted, do=do)
        try:
            data = file.read(max_bytes + 1)
        except OSError as error:
            found = error.strerror or str(error)
            raise ExportFileError(path, found=found, wanted=wanted, do="copy the file here again") from error
    if len(data) > max_bytes:
        do = "check that this is the machine's text and no other file"
        raise ExportFileError(path, found=f"more than {shown_size(max_bytes)}", wanted=wanted, do=do)
    return ExportText(path.name, data, hashlib.sha256(data).hexdigest(), at_ns)


def _sort(mode: int) -> str:
    if stat.S_ISDIR(mode):
        return "a folder"
    if stat.S_ISFIFO(mode):
        return "a pipe"
    return "a device"

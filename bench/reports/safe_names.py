"""Names of exported files, and files that stay in the folder they are meant for and never replace another."""

from __future__ import annotations

import base64
import hashlib
import os
import re
import unicodedata
from pathlib import Path

LONGEST = 80
_DIGEST_END = re.compile(r"-[a-z2-7]{10}$")
_SUFFIX = re.compile(r"(\.[a-z0-9]{1,10}){0,2}", re.ASCII)
_RESERVED = frozenset(
    {"con", "prn", "aux", "nul", "conin", "conout"}
    | {f"{port}{digit}" for port in ("com", "lpt") for digit in "0123456789"}
)


class ExportError(Exception):
    """A file could not be written where it was meant.

    Parameters
    ----------
    path : str
        Where it was meant.
    found : str
        What stood in the way.
    do : str
        What the person can do.
    """

    def __init__(self, path: str, *, found: str, do: str) -> None:
        self.path = path
        self.found = found
        super().__init__(f"export: {path}: {found}; {do}")


def slug(text: str, *, most: int) -> str:
    """Return a file name's part for any text: small ASCII letters, digits and hyphens.

    Two different texts give two different slugs: whatever loses something on the way (capitals, blanks, accents,
    length) ends in ten characters of the text's digest.

    Parameters
    ----------
    text : str
        Anything.
    most : int
        Longest answer, at least 12.

    Returns
    -------
    str
        Never empty, never a reserved name.

    Examples
    --------
    >>> slug("rescue-boat", most=40)
    'rescue-boat'
    >>> slug("CON", most=40)[:4]
    'con-'
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
    lossless = words == text and 0 < len(words) <= most and words not in _RESERVED and not _DIGEST_END.search(words)
    if lossless:
        return words
    raw = hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()
    digest = base64.b32encode(raw).decode().lower()[:10]
    return f"{words[: most - 11].rstrip('-') or 'x'}-{digest}"


def export_name(*, job: str, title: str, suffix: str) -> str:
    """Return the name of an exported file: job, title and what it is, at most 80 characters.

    Parameters
    ----------
    job : str
        Job number.
    title : str
        The job's title, whatever it holds.
    suffix : str
        The program's own ending, e.g. ".html" or ".weights.csv".

    Returns
    -------
    str
        A name without folders.

    Raises
    ------
    ValueError
        When the suffix is not one or two short dotted words; a fault of the program, not of a person.

    Examples
    --------
    >>> export_name(job="2026-0001", title="rescue-boat", suffix=".html")
    '2026-0001_rescue-boat.html'
    """
    if not _SUFFIX.fullmatch(suffix):
        raise ValueError(f"suffix {suffix!r}; wanted one or two dotted words of small letters and digits")
    start = slug(job, most=24)
    return f"{start}_{slug(title, most=LONGEST - len(start) - 1 - len(suffix))}{suffix}"


def write_new(folder: Path, name: str, data: bytes) -> Path:
    """Write a file that was not there before, wholly or not at all.

    Parameters
    ----------
    folder : Path
        Export folder; made when missing.
    name : str
        As `export_name` gives it. When there is such a file, "-2", "-3" and so on is put before the ending.
    data : bytes
        What it holds.

    Returns
    -------
    Path
        Where it is, inside the folder.

    Raises
    ------
    ExportError
        When the name leads out of the folder, or the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        home = folder.resolve(strict=True)
    except OSError as fault:
        raise ExportError(str(folder), found=_why(fault), do="choose another export folder") from fault
    stem, dot, ending = name.partition(".")
    for count in range(1, 10_000):
        path = home / (name if count == 1 else f"{stem}-{count}{dot}{ending}")
        if path.parent != home or "\0" in name or not path.resolve().is_relative_to(home):
            raise ExportError(repr(name), found="leads out of the export folder", do="use a plain file name")
        try:
            _write(path, data)
        except FileExistsError:
            continue
        except OSError as fault:
            raise ExportError(str(path), found=_why(fault), do="make room or choose another export folder") from fault
        return path
    raise ExportError(str(home / name), found="9999 files of this name", do="clear the export folder")


def new_folder(parent: Path, name: str) -> Path:
    """Make a folder that was not there before.

    Parameters
    ----------
    parent : Path
        Export folder; made when missing.
    name : str
        As `export_name` gives it; "-2", "-3" and so on is put behind it when there is such a folder.

    Returns
    -------
    Path
        The new folder, inside the export folder.

    Raises
    ------
    ExportError
        When the name leads out of the export folder, or nothing can be made there.
    """
    try:
        parent.mkdir(parents=True, exist_ok=True)
        home = parent.resolve(strict=True)
        for count in range(1, 10_000):
            path = home / (name if count == 1 else f"{name}-{count}")
            if path.parent != home:
                raise ExportError(repr(name), found="leads out of the export folder", do="use a plain name")
            try:
                path.mkdir()
            except FileExistsError:
                continue
            return path
    except OSError as fault:
        raise ExportError(str(parent), found=_why(fault), do="choose another export folder") from fault
    raise ExportError(str(parent / name), found="9999 folders of this name", do="clear the export folder")


def _write(path: Path, data: bytes) -> None:
    """Write a file under a passing name, and give it its own when it is whole; one that is there stays."""
    half = path.with_name(f".{path.name[:60]}-{os.getpid()}.half")
    try:
        with half.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        _name_it(half, path)
    finally:
        half.unlink(missing_ok=True)


def _name_it(half: Path, path: Path) -> None:
    try:
        os.link(half, path)  # fails where that name is taken, in one step with the naming
    except FileExistsError:
        raise
    except OSError:  # a medium without links: the look before is as near as it comes
        if os.path.lexists(path):
            raise FileExistsError(path.name) from None
        half.rename(path)


def _why(fault: OSError) -> str:
    return fault.strerror or str(fault)

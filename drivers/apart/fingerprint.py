"""Which files a foreign driver consists of, and their hash, found without importing any of it."""

from __future__ import annotations

import hashlib
import os
import sys
from importlib.machinery import PathFinder
from importlib.metadata import EntryPoint
from pathlib import Path

MOST_FILES = 20_000
_NOT_CODE = frozenset({"RECORD", "INSTALLER", "REQUESTED", "direct_url.json"})
_PIECE = 1024 * 1024


class FingerprintError(Exception):
    """The files of a driver cannot be found or read."""


def fingerprint(point: EntryPoint) -> str:
    """Return what a foreign driver is, by its files.

    The hash covers the names and bytes of every file of its distribution and of its package, compiled copies aside,
    which are never run. What it needs from other distributions is not part of it.

    Parameters
    ----------
    point : EntryPoint
        Of the driver.

    Returns
    -------
    str
        For example "far-drivers 1.2 sha256:9f86...".

    Raises
    ------
    FingerprintError
        When the files cannot be found or read.
    """
    files = {**_of_distribution(point), **_of_package(point)}
    if not files:
        raise FingerprintError(f"no file of {point.value} is found")
    if len(files) > MOST_FILES:
        raise FingerprintError(f"{point.value} has more than {MOST_FILES} files")
    whole = hashlib.sha256()
    for name in sorted(files):
        whole.update(f"{name}\0".encode(errors="surrogateescape"))
        try:
            whole.update(_hash_of(files[name]))
        except OSError as fault:
            raise FingerprintError(f"{files[name].name}: {fault.strerror or 'cannot be read'}") from fault
    origin = f"{point.dist.name} {point.dist.version}" if point.dist else point.module
    return f"{origin} sha256:{whole.hexdigest()}"


def short(print_: str) -> str:
    """Return a fingerprint as it is shown to people.

    Parameters
    ----------
    print_ : str
        Whole.

    Returns
    -------
    str
        With the first twelve letters of its hash.

    Examples
    --------
    >>> short("far-drivers 1.2 sha256:" + 16 * "9f86")
    'far-drivers 1.2, files 9f869f869f86'
    """
    origin, _, digest = print_.partition(" sha256:")
    return f"{origin}, files {digest[:12]}" if digest else origin


def _hash_of(path: Path) -> bytes:
    one = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            one.update(piece)
    return one.digest()


def _of_distribution(point: EntryPoint) -> dict[str, Path]:
    files: dict[str, Path] = {}
    for file in (point.dist.files or []) if point.dist else []:
        path = Path(str(file.locate()))
        if file.name not in _NOT_CODE and "__pycache__" not in file.parts and path.is_file():
            files[file.as_posix()] = path
    return files


def _of_package(point: EntryPoint) -> dict[str, Path]:
    """Return the files of the package, which an installation that only points to them does not list."""
    spec = PathFinder.find_spec(point.module.partition(".")[0], sys.path)
    if spec is None:
        return {}
    if not spec.submodule_search_locations:
        return {Path(spec.origin).name: Path(spec.origin)} if spec.origin else {}
    files: dict[str, Path] = {}
    for folder in spec.submodule_search_locations:
        for at, folders, names in os.walk(folder):
            folders[:] = sorted(one for one in folders if one != "__pycache__")
            inside = Path(at)
            files |= {f"{spec.name}/{(inside / name).relative_to(folder).as_posix()}": inside / name for name in names}
            if len(files) > MOST_FILES:
                return files
    return files

"""Files written whole or not at all, and names that stay after a power cut."""

from __future__ import annotations

import os
from pathlib import Path


def sync_file(path: Path) -> None:
    """Have the drive keep a file's bytes.

    Parameters
    ----------
    path : Path
        The file.
    """
    number = os.open(path, os.O_RDWR)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def sync_folder(folder: Path) -> None:
    """Have the drive keep a folder's names; Windows keeps them by itself.

    Parameters
    ----------
    folder : Path
        The folder.
    """
    if os.name == "nt":  # pragma: no cover - on Windows only
        return
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def put_in_place(finished: Path, path: Path) -> None:
    """Give a finished file its name: what was there before is replaced in one step.

    Parameters
    ----------
    finished : Path
        Written, in the same folder.
    path : Path
        Where it belongs.
    """
    sync_file(finished)
    finished.replace(path)
    sync_folder(path.parent)


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that at any moment either the old or the new one is there, whole.

    Parameters
    ----------
    path : Path
        The file.
    data : bytes
        What it is to hold.
    """
    half = path.with_name(f".{path.name}.half")
    try:
        with half.open("wb") as file:
            file.write(data)
        put_in_place(half, path)
    finally:
        half.unlink(missing_ok=True)

"""What a record's folder lies on: a disk of this computer, a network, memory, or a folder that others copy about."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

NETWORK = frozenset(
    {"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "ceph", "glusterfs", "davfs", "davfs2", "vboxsf", "vmhgfs"}
    | {"fuse.sshfs", "fuse.rclone", "fuse.davfs2", "fuse.gvfsd-fuse", "fuse.s3fs", "fuse.glusterfs", "fuse.vmhgfs-fuse"}
)
MEMORY = frozenset({"tmpfs", "ramfs"})
SYNCHRONISED_NAMES = (
    "onedrive",
    "dropbox",
    "google drive",
    "googledrive",
    "icloud",
    "nextcloud",
    "owncloud",
    "syncthing",
)
"""How the folders of such services are called; the words are theirs."""
SYNCHRONISED_MARKS = (".dropbox", ".dropbox.cache", ".stfolder", ".nextcloudsync.log", ".owncloudsync.log")
_REMOTE_DRIVE = 4


@dataclass(frozen=True, slots=True)
class Lying:
    """Where a file lies.

    Attributes
    ----------
    kind : str
        "disk", "network", "memory" or "unknown".
    file_system : str
        The system's own word.
    read_only : bool
        The whole of it cannot be written.
    synchronised : str
        The folder that another program copies about; "" when none is seen.
    """

    kind: str
    file_system: str = ""
    read_only: bool = False
    synchronised: str = ""


def where_it_lies(path: Path, *, mounts: str | None = None, environment: Mapping[str, str] | None = None) -> Lying:
    """Return what a file lies on.

    Parameters
    ----------
    path : Path
        A file or folder; it need not exist.
    mounts : str | None
        The system's table of mounts; None reads it where there is one.
    environment : Mapping[str, str] | None
        For the folders that services tell of; None takes the process's own.

    Returns
    -------
    Lying
        Unknown where the system does not tell.
    """
    full = Path(os.path.realpath(path))
    synchronised = _synchronised(full, os.environ if environment is None else environment)
    if mounts is None and sys.platform == "win32":  # pragma: no cover - on Windows only
        return Lying(_windows_kind(full), synchronised=synchronised)
    text = _mounts() if mounts is None else mounts
    at, system, options = "", "", ""
    for line in text.splitlines():
        parts = line.split()
        if len(parts) < 4:
            continue
        place = parts[1].replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\")
        if len(place) >= len(at) and (full == Path(place) or Path(place) in full.parents):
            at, system, options = place, parts[2], parts[3]
    kind = "network" if system in NETWORK else "memory" if system in MEMORY else "disk" if system else "unknown"
    return Lying(kind, system, "ro" in options.split(","), synchronised)


def _mounts() -> str:
    try:
        return Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _synchronised(full: Path, environment: Mapping[str, str]) -> str:
    told = [
        environment[name] for name in ("OneDrive", "OneDriveCommercial", "OneDriveConsumer") if environment.get(name)
    ]
    for folder in (full, *full.parents):
        name = folder.name.lower()
        if any(name == word or name.startswith((f"{word} ", f"{word}-")) for word in SYNCHRONISED_NAMES):
            return str(folder)
        if str(folder) in told or any((folder / mark).exists() for mark in SYNCHRONISED_MARKS):
            return str(folder)
    return ""


def _windows_kind(full: Path) -> str:  # pragma: no cover - on Windows only
    if sys.platform != "win32" or str(full).startswith("\\\\"):
        return "network"
    import ctypes

    return "network" if ctypes.windll.kernel32.GetDriveTypeW(full.anchor) == _REMOTE_DRIVE else "disk"


def why_not_there(path: Path) -> str:
    """Return why a record may not be written at a place; its journal is only safe on a disk of this computer.

    Parameters
    ----------
    path : Path
        The record's file.

    Returns
    -------
    str
        "" when nothing speaks against it.
    """
    lying = where_it_lies(path)
    return f"the folder lies in a network ({lying.file_system or 'share'})" if lying.kind == "network" else ""

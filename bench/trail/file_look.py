"""Tells a record from anything else by its first bytes, before anything could touch it."""

from __future__ import annotations

import stat
from pathlib import Path

from bench.trail.errors import ForeignFileError, NewerRecordError, RecordDamagedError, RecordError, RecordReadOnlyError
from bench.trail.schema import APPLICATION_ID, SCHEMA_VERSION

_MAGIC = b"SQLite format 3\x00"
_UNTOUCHED = "name another file, or restore a backup into a new one; this one was left untouched"


def look_at_file(path: Path, *, newer_is_fine: bool) -> None:
    """Look at a file's header without opening it as a database.

    Parameters
    ----------
    path : Path
        An existing file.
    newer_is_fine : bool
        A newer record may be looked at.

    Raises
    ------
    RecordError
        Foreign, newer, damaged, or out of reach; the file is left untouched.
    """
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            raise ForeignFileError(str(path), found="no file but a folder, device or pipe", do=_UNTOUCHED)
        with path.open("rb") as file:
            head = file.read(100)
        # in this order: while another program writes its entries into the file, they still lie ahead of it
        ahead = _has_bytes(path.with_name(path.name + "-wal"))
        size = path.stat().st_size
    except OSError as fault:
        raise RecordReadOnlyError(
            str(path), found=f"cannot be read ({fault.strerror})", do="look at the rights of the file and its folder"
        ) from fault
    _look_at_head(path, head, newer_is_fine=newer_is_fine)
    whole = _page_size(head) * int.from_bytes(head[28:32], "big")
    if size < whole and not ahead:
        raise RecordDamagedError(str(path), found=f"cut short, {size} of {whole} bytes", do="restore the newest backup")


def _look_at_head(path: Path, head: bytes, *, newer_is_fine: bool) -> None:
    where = str(path)
    if not head:
        raise ForeignFileError(where, found="an empty file", wanted="a record", do=_UNTOUCHED)
    if len(head) < 100 or not head.startswith(_MAGIC):
        raise ForeignFileError(where, found="no record", wanted="a record of this program", do=_UNTOUCHED)
    if int.from_bytes(head[68:72], "big") != APPLICATION_ID:
        raise ForeignFileError(where, found="a database of another program", do=_UNTOUCHED)
    if _page_size(head) == 0:
        raise RecordDamagedError(where, found="a header that no record has", do="restore the newest backup")
    refuse_newer(where, int.from_bytes(head[60:64], "big"), newer_is_fine=newer_is_fine)


def refuse_newer(where: str, version: int, *, newer_is_fine: bool) -> None:
    """Say which format is needed when a record has a newer one.

    Parameters
    ----------
    where : str
        The file.
    version : int
        Its format.
    newer_is_fine : bool
        It may be looked at.

    Raises
    ------
    NewerRecordError
        When it is newer and that is not fine.
    RecordError
        When there never was such a format.
    """
    if version > SCHEMA_VERSION and not newer_is_fine:
        raise NewerRecordError(
            where,
            found=f"format {version}",
            wanted=f"format {SCHEMA_VERSION} or older",
            do="use the newer program; this one can only look at it",
        )
    if version < 1:
        raise RecordDamagedError(where, found=f"format {version}", do="restore the newest backup")


def _page_size(head: bytes) -> int:
    size = int.from_bytes(head[16:18], "big")
    size = 65536 if size == 1 else size
    return size if size >= 512 and size & (size - 1) == 0 else 0


def _has_bytes(path: Path) -> bool:
    try:
        return path.stat().st_size > 0
    except OSError:
        return False


def nothing_there(path: Path) -> RecordError:
    """Return the fault of a record that is to be looked at and is not there.

    Parameters
    ----------
    path : Path
        Where it should be.

    Returns
    -------
    RecordError
        To be raised.
    """
    return RecordError(str(path), found="there is no such file", do="open it to write once, or name another")

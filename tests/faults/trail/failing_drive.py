"""A drive that fails, loses and remembers: SQLite's own file layer with every call that changes a file going through here.

Written with ctypes against SQLite's public interface (sqlite3_vfs, sqlite3_io_methods), so it needs no compiler. Reads,
locks and shared memory go to the real file layer untouched; open, write, truncate, sync and delete are counted, and
can be made to fail, to be dropped, or to be written down for a simulated power cut.
"""

from __future__ import annotations

import ctypes as c
import ctypes.util
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

IOERR_WRITE, IOERR_SYNC, IOERR_TRUNCATE, IOERR_DELETE, CANTOPEN, FULL = 778, 1034, 1546, 2570, 14, 13
OPEN_CREATE = 0x4

_CLOSE = c.CFUNCTYPE(c.c_int, c.c_void_p)
_WRITE = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_void_p, c.c_int, c.c_int64)
_TRUNCATE = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_int64)
_SYNC = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_int)
_OPEN = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_void_p, c.c_void_p, c.c_int, c.c_void_p)
_DELETE = c.CFUNCTYPE(c.c_int, c.c_void_p, c.c_char_p, c.c_int)


class _Methods(c.Structure):
    _fields_ = [
        ("version", c.c_int), ("close", c.c_void_p), ("read", c.c_void_p), ("write", c.c_void_p),
        ("truncate", c.c_void_p), ("sync", c.c_void_p), ("rest", c.c_void_p * 13),
    ]  # fmt: skip


class _Vfs(c.Structure):
    _fields_ = [
        ("version", c.c_int), ("size", c.c_int), ("longest", c.c_int), ("next", c.c_void_p), ("name", c.c_char_p),
        ("data", c.c_void_p), ("open", c.c_void_p), ("delete", c.c_void_p), ("rest", c.c_void_p * 14),
    ]  # fmt: skip


@dataclass(frozen=True)
class Op:
    """One change of a file, or a mark of the test."""

    kind: str
    name: str
    at: int = 0
    data: bytes = b""


@dataclass
class FailingDrive:
    """What the calls are counted and answered by."""

    fail_from: int = 0
    fail_for_ever: bool = False
    full: bool = False
    only: str = ""
    drop_beyond: int | None = None
    calls: int = 0
    failed: int = 0
    log: list[Op] | None = None
    after_call: Callable[[int], None] | None = None
    names: dict[int, str] = field(default_factory=dict)

    def mark(self, word: str) -> None:
        if self.log is not None:
            self.log.append(Op("mark", word))

    def heal(self) -> None:
        self.fail_from = 0

    def answer(self, name: str, code: int) -> int:
        """0 when the call goes through, else what SQLite is told."""
        if self.only and self.only not in name:
            return 0
        self.calls += 1
        if self.after_call is not None:
            self.after_call(self.calls)
        if self.fail_from and (self.calls == self.fail_from or (self.fail_for_ever and self.calls > self.fail_from)):
            self.failed += 1
            return FULL if self.full and code in {IOERR_WRITE, IOERR_TRUNCATE} else code
        return 0


def library() -> c.CDLL | None:
    """The SQLite that Python's module uses, when it is one that can be reached by name."""
    import sqlite3

    names = ["libsqlite3.so.0", ctypes.util.find_library("sqlite3") or "", "sqlite3.dll", "libsqlite3.dylib"]
    for name in filter(None, names):
        try:
            found = c.CDLL(name)
        except OSError:
            continue
        found.sqlite3_libversion.restype = c.c_char_p
        found.sqlite3_vfs_find.restype = c.c_void_p
        found.sqlite3_vfs_find.argtypes = [c.c_char_p]
        found.sqlite3_vfs_register.argtypes = [c.c_void_p, c.c_int]
        found.sqlite3_vfs_unregister.argtypes = [c.c_void_p]
        if found.sqlite3_libversion().decode() == sqlite3.sqlite_version and sys.platform != "win32":
            return found
    return None


@contextmanager
def drive_in_between(drive: FailingDrive) -> Iterator[FailingDrive]:
    """Every SQLite file that is opened inside goes through the drive."""
    found = library()
    assert found is not None
    real_at = found.sqlite3_vfs_find(None)
    real = _Vfs.from_address(real_at)
    real_open, real_delete = _OPEN(real.open), _DELETE(real.delete)
    keep: list[object] = []
    tables: dict[int, _Methods] = {}

    def methods_for(address: int) -> _Methods:
        if address in tables:
            return tables[address]
        original = _Methods.from_address(address)
        write, truncate, sync, close = (
            _WRITE(original.write), _TRUNCATE(original.truncate), _SYNC(original.sync), _CLOSE(original.close),
        )  # fmt: skip

        def on_write(file: int, buffer: int, amount: int, offset: int) -> int:
            name = drive.names.get(file, "?")
            code = drive.answer(name, IOERR_WRITE)
            if code:
                return code
            if drive.drop_beyond is not None and drive.only and drive.only in name and offset >= drive.drop_beyond:
                # a stick that says it is larger than it is: the bytes go where something else lies
                return int(write(file, buffer, amount, offset % drive.drop_beyond))
            if drive.log is not None:
                drive.log.append(Op("write", name, offset, c.string_at(buffer, amount)))
            return int(write(file, buffer, amount, offset))

        def on_truncate(file: int, size: int) -> int:
            name = drive.names.get(file, "?")
            code = drive.answer(name, IOERR_TRUNCATE)
            if code:
                return code
            if drive.log is not None:
                drive.log.append(Op("truncate", name, size))
            return int(truncate(file, size))

        def on_sync(file: int, flags: int) -> int:
            name = drive.names.get(file, "?")
            code = drive.answer(name, IOERR_SYNC)
            if code:
                return code
            if drive.log is not None:
                drive.log.append(Op("sync", name))
            return int(sync(file, flags))

        def on_close(file: int) -> int:
            drive.names.pop(file, None)
            return int(close(file))

        table = _Methods()
        # older tables are shorter: only so much is copied as the original has
        lengths = {1: 13, 2: 17, 3: 19}
        size = 8 + 8 * (lengths[min(original.version, 3)] - 1)
        c.memmove(c.addressof(table), address, size)
        callbacks = (_WRITE(on_write), _TRUNCATE(on_truncate), _SYNC(on_sync), _CLOSE(on_close))
        keep.extend(callbacks)
        for slot, callback in zip(("write", "truncate", "sync", "close"), callbacks, strict=True):
            setattr(table, slot, c.cast(callback, c.c_void_p).value)
        tables[address] = table
        return table

    def on_open(_: int, name: int | None, file: int, flags: int, out: int) -> int:
        told = Path((c.string_at(name) if name else b"temporary").decode()).name
        slot = c.cast(file, c.POINTER(c.c_void_p))
        if flags & OPEN_CREATE:
            code = drive.answer(told, CANTOPEN)
            if code:
                slot[0] = None
                return code
        # a name is passed on as the pointer SQLite gave: behind it lie the address's parameters
        code = int(real_open(real_at, name, file, flags, out))
        if code == 0 and slot[0]:
            drive.names[file] = told
            slot[0] = c.addressof(methods_for(slot[0]))
        return code

    def on_delete(_: int, name: bytes, sync: int) -> int:
        told = Path(name.decode()).name
        code = drive.answer(told, IOERR_DELETE)
        if code:
            return code
        if drive.log is not None:
            drive.log.append(Op("delete", told))
        return int(real_delete(real_at, name, sync))

    ours = _Vfs()
    c.memmove(c.addressof(ours), real_at, c.sizeof(_Vfs))
    ours.next, ours.name = None, b"failing-drive"
    callbacks = (_OPEN(on_open), _DELETE(on_delete))
    keep.extend(callbacks)
    ours.open, ours.delete = (c.cast(callback, c.c_void_p).value for callback in callbacks)
    assert found.sqlite3_vfs_register(c.byref(ours), 1) == 0
    try:
        yield drive
    finally:
        found.sqlite3_vfs_unregister(c.byref(ours))
        found.sqlite3_vfs_register(real_at, 1)
        _forever.append((ours, keep, tables))


_forever: list[object] = []
"""A connection that was left open may still call in: nothing of it is let go before the process ends."""

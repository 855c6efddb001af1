"""One wait and one read for everything that came, where the operating system gives a port a descriptor.

The library's own way asks for one byte, then how many wait, then for those: five calls into the system for each line.
Here it is two, and the thread sleeps in the first of them until a byte is there.
"""

from __future__ import annotations

import os
import select
from collections.abc import Callable
from typing import Protocol, cast

_MOST = 4096


class _WithDescriptor(Protocol):
    """A port of a POSIX system."""

    pipe_abort_read_r: int

    def fileno(self) -> int:
        """Return the descriptor."""
        ...


def reader_of(port: object) -> Callable[[float], bytes] | None:
    """Return what reads a port by its descriptor.

    Parameters
    ----------
    port : object
        An opened port.

    Returns
    -------
    Callable[[float], bytes] | None
        Takes the longest wait [s] and gives what came, or nothing; raises OSError when the device is gone. None for a
        port that has no descriptor to wait for: a network connection, a loop, Windows.
    """
    wake = getattr(port, "pipe_abort_read_r", None)
    if os.name != "posix" or not isinstance(wake, int) or not hasattr(port, "fileno"):
        return None
    data = cast("_WithDescriptor", port).fileno()

    def read(wait_s: float) -> bytes:
        ready, _, _ = select.select((data, wake), (), (), wait_s)
        if wake in ready:
            os.read(wake, _MOST)
            return b""
        if not ready:
            return b""
        chunk = os.read(data, _MOST)
        if not chunk:
            raise OSError("the device was ready to be read and gave nothing: it is gone")
        return chunk

    return read

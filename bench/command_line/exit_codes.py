"""What the program's exit status says."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """Exit codes, the same for every command."""

    FINE = 0
    NEGATIVE = 1
    """A negative finding: out of tolerance, a check failed."""
    USAGE = 2
    """Usage, settings or version."""
    TRY_AGAIN = 3
    """Port absent or busy, record locked."""
    INPUT_REFUSED = 4
    NOT_WHOLE = 5
    """The record does not prove itself."""
    STORAGE = 6
    """Full or read-only."""
    OUR_BUG = 70
    INTERRUPTED = 130
    TERMINATED = 143

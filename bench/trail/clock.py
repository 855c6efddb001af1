"""The clocks an event is stamped with. Order never comes from them."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from typing import Protocol


class Clock(Protocol):
    """What a trail asks about time."""

    def utc_now(self) -> datetime:
        """Return the wall time in UTC."""
        ...

    def offset_min(self) -> int:
        """Return the local offset from UTC [min]."""
        ...

    def monotonic_ns(self) -> int:
        """Return the monotonic clock [ns]."""
        ...


class SystemClock:
    """The computer's clocks."""

    def utc_now(self) -> datetime:
        """Return the wall time in UTC."""
        return datetime.now(UTC)

    def offset_min(self) -> int:
        """Return the local offset from UTC [min]."""
        offset = datetime.now(UTC).astimezone().utcoffset()
        return 0 if offset is None else int(offset.total_seconds() // 60)

    def monotonic_ns(self) -> int:
        """Return the monotonic clock [ns]."""
        return time.monotonic_ns()


def rfc3339(moment: datetime) -> str:
    """Return a moment as RFC 3339 with microseconds and Z.

    Parameters
    ----------
    moment : datetime
        Aware, any zone.

    Returns
    -------
    str
        In UTC.
    """
    # not strftime: it writes years before 1000 with fewer digits
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"

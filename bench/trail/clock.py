"""The clocks an event is stamped with. Order never comes from them."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta, timezone
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


def local_moment(utc: str, *, offset_min: int | None = None) -> str:
    """Return a recorded moment as the clock on the wall showed it, to the second.

    Parameters
    ----------
    utc : str
        RFC 3339 in UTC, as recorded.
    offset_min : int | None
        Local offset from UTC at that moment; None takes this computer's. [min]

    Returns
    -------
    str
        Day, time and offset; what is no moment comes back as it is.

    Examples
    --------
    >>> local_moment("2031-05-07T23:30:12.123456Z", offset_min=120)
    '2031-05-08 01:30:12 +02:00'
    """
    try:
        zone = None if offset_min is None else timezone(timedelta(minutes=offset_min))
        local = datetime.fromisoformat(utc).astimezone(zone).isoformat(sep=" ", timespec="seconds")
    except (ValueError, OverflowError, OSError):
        return utc
    return f"{local[:19]} {local[19:]}"

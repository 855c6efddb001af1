"""When the interpreter looks for garbage: rarely while a command starts, and not at all when it leaves.

Loading makes some ten thousand objects that stay for good. Looking through them over and over, and once more at the
end, takes a fifth of the time of a small command, and makes the dashboard's first paint later.
"""

from __future__ import annotations

import gc

RARELY = 50_000
"""Objects more than were freed again, until it looks: more than a start makes."""
_USUAL = gc.get_threshold()


def collect_rarely() -> None:
    """Look for garbage seldom: what a start makes stays."""
    gc.set_threshold(RARELY, *_USUAL[1:])


def collect_as_usual() -> None:
    """Look for garbage as usual, but never again through what has been loaded by now."""
    gc.freeze()
    gc.set_threshold(*_USUAL)


def leave_uncollected() -> None:
    """Leave what is there to the end of the process: all that must be closed has been."""
    gc.freeze()

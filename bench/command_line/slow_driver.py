"""A driver of somebody else is asked on a thread of its own, so that neither the desk nor a link waits for it."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable

from drivers.contract import LinkChange, LinkState, RunsApart

REMEDY = "start again, or choose another profile"
_FAREWELL_S = 1.0


class SlowDriver:
    """Works off what is to be asked of a foreign driver, in order.

    Parameters
    ----------
    driver : RunsApart
        The driver.
    """

    def __init__(self, driver: RunsApart) -> None:
        self._driver = driver
        self._items: queue.SimpleQueue[Callable[[], None] | None] = queue.SimpleQueue()
        self._told = False
        self._thread = threading.Thread(target=self._run, name="plug-in's answers", daemon=True)
        self._thread.start()

    def put(self, act: Callable[[], None]) -> None:
        """Do something after all that was put before; returns at once.

        Parameters
        ----------
        act : Callable[[], None]
            Asks the driver and hands its answer on.
        """
        self._items.put(act)

    def state_now(self, change: LinkChange) -> LinkChange:
        """Return a change of the link as it is to be told: a driver that has ended reads nothing of an open link.

        Parameters
        ----------
        change : LinkChange
            Of the link.

        Returns
        -------
        LinkChange
            The same, or that nothing is read.
        """
        if change.state is LinkState.OPEN and self._driver.trouble:
            return self._ended(change.at_ns)
        return change

    def end_to_tell(self, at_ns: int) -> LinkChange | None:
        """Return that the driver has ended, once.

        Parameters
        ----------
        at_ns : int
            Now. [ns]

        Returns
        -------
        LinkChange | None
            None while it reads, and when it was told.
        """
        if self._told or not self._driver.trouble:
            return None
        self._told = True
        return self._ended(at_ns)

    def _ended(self, at_ns: int) -> LinkChange:
        trouble = self._driver.trouble
        return LinkChange(at_ns, LinkState.GARBLED, trouble, f"{trouble}; {REMEDY}")

    def stop(self) -> None:
        """Work off what was put, for a moment, and end the driver's process."""
        self._items.put(None)
        self._thread.join(_FAREWELL_S)
        self._driver.close()

    def _run(self) -> None:
        while (act := self._items.get()) is not None:
            act()

"""A driver on its link: bytes in, readings out, one warning an episode, and no silent change of unit."""

from __future__ import annotations

from typing import Protocol

from drivers.contract import LineFault, LinkChange, LinkState, Reading, ScaleDriver
from drivers.links.port_errors import REMEDIES

_GARBLED_AFTER = 5
_CLEAR_AFTER = 5


class Listener(Protocol):
    """Where readings go."""

    def reading_came(self, reading: Reading) -> None:
        """Take a reading."""
        ...

    def fault_came(self, fault: LineFault) -> None:
        """Take the first unreadable line of an episode."""
        ...

    def unit_changed(self, *, old: str, new: str) -> None:
        """Learn that the scale changed its unit; nothing more comes until the new unit is accepted."""
        ...

    def link_changed(self, change: LinkChange) -> None:
        """Take a change of the link."""
        ...


class ScaleListening:
    """The sink of a scale's link.

    Parameters
    ----------
    driver : ScaleDriver
        Reads the bytes.
    listener : Listener
        Gets what is read.
    """

    def __init__(self, driver: ScaleDriver, listener: Listener) -> None:
        self._driver = driver
        self._listener = listener
        self._unit = ""
        self._asked_unit = ""
        self._bad = 0
        self._good = 0
        self._faults = 0
        self._in_episode = False
        self._garbled = False

    @property
    def faults(self) -> int:
        """How many lines could not be read so far."""
        return self._faults

    def accept_unit(self, unit: str) -> None:
        """Go on with a new unit, because a person said so.

        Parameters
        ----------
        unit : str
            The unit the scale shows now.
        """
        self._unit, self._asked_unit = unit, ""

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        """Take bytes and pass on what they complete.

        Parameters
        ----------
        chunk : bytes
            The bytes.
        at_ns : int
            Monotonic moment of arrival. [ns]
        """
        for item in self._driver.feed(chunk, at_ns):
            if isinstance(item, LineFault):
                self._take_fault(item)
            else:
                self._take_reading(item)

    def link_changed(self, change: LinkChange) -> None:
        """Take a change of the link; after a loss the stream begins anew.

        Parameters
        ----------
        change : LinkChange
            The change.
        """
        if change.state in {LinkState.LOST, LinkState.CLOSED, LinkState.ABSENT}:
            self._driver.link_lost()
            self._bad = self._good = 0
            self._in_episode = self._garbled = False
        self._listener.link_changed(change)

    def _take_fault(self, fault: LineFault) -> None:
        self._faults += 1
        self._bad, self._good = self._bad + 1, 0
        if not self._in_episode:
            self._in_episode = True
            self._listener.fault_came(fault)
        if self._bad == _GARBLED_AFTER and not self._garbled:
            self._garbled = True
            remedy = REMEDIES[LinkState.GARBLED]
            self._listener.link_changed(LinkChange(fault.at_ns, LinkState.GARBLED, fault.found, remedy))

    def _take_reading(self, reading: Reading) -> None:
        self._bad, self._good = 0, self._good + 1
        if self._good >= _CLEAR_AFTER:
            self._in_episode = False
            if self._garbled:
                self._garbled = False
                self._listener.link_changed(LinkChange(reading.at_ns, LinkState.OPEN))
        self._unit = self._unit or reading.unit
        if reading.unit == self._unit:
            self._listener.reading_came(reading)
        elif reading.unit != self._asked_unit:
            self._asked_unit = reading.unit
            self._listener.unit_changed(old=self._unit, new=reading.unit)

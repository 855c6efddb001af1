"""A driver on its link: bytes in, readings out, one warning an episode, and no silent change of unit."""

from __future__ import annotations

from collections.abc import Callable
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


class LineWatch:
    """Notices when a scale's lines cannot be read any more, and when they can again.

    A single bad line is nothing; five in a row are a state of the link, told once with its remedy, until five good
    lines in a row have ended it.

    Parameters
    ----------
    on_change : Callable[[LinkChange], None]
        Takes the change to garbled, and back to open.
    """

    def __init__(self, on_change: Callable[[LinkChange], None]) -> None:
        self._on_change = on_change
        self._bad = self._good = 0
        self._in_episode = self._garbled = False

    def begin_anew(self) -> None:
        """Forget what was: the link was lost, and what comes next is a new stream."""
        self._bad = self._good = 0
        self._in_episode = self._garbled = False

    def take(self, line: Reading | LineFault) -> None:
        """Take a line, for whoever does not care whether it begins an episode.

        Parameters
        ----------
        line : Reading | LineFault
            Read or not.
        """
        self.line_came(line)

    def line_came(self, line: Reading | LineFault) -> bool:
        """Take a line.

        Parameters
        ----------
        line : Reading | LineFault
            Read or not.

        Returns
        -------
        bool
            True for the first unreadable line of an episode.
        """
        if isinstance(line, LineFault):
            return self._bad_line(line)
        self._bad, self._good = 0, self._good + 1
        if self._good >= _CLEAR_AFTER:
            self._in_episode = False
            if self._garbled:
                self._garbled = False
                self._on_change(LinkChange(line.at_ns, LinkState.OPEN))
        return False

    def _bad_line(self, fault: LineFault) -> bool:
        self._bad, self._good = self._bad + 1, 0
        first, self._in_episode = not self._in_episode, True
        if self._bad == _GARBLED_AFTER and not self._garbled:
            self._garbled = True
            remedy = REMEDIES[LinkState.GARBLED]
            self._on_change(LinkChange(fault.at_ns, LinkState.GARBLED, fault.found, remedy))
        return first


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
        self._watch = LineWatch(listener.link_changed)
        self._unit = ""
        self._asked_unit = ""
        self._faults = 0

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
            first_bad = self._watch.line_came(item)
            if isinstance(item, LineFault):
                self._faults += 1
                if first_bad:
                    self._listener.fault_came(item)
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
            self._watch.begin_anew()
        self._listener.link_changed(change)

    def _take_reading(self, reading: Reading) -> None:
        self._unit = self._unit or reading.unit
        if reading.unit == self._unit:
            self._listener.reading_came(reading)
        elif reading.unit != self._asked_unit:
            self._asked_unit = reading.unit
            self._listener.unit_changed(old=self._unit, new=reading.unit)

"""What a driver promises: the only module of drivers that the bench imports.

A driver holds no port, no clock and no thread. It is fed bytes with the moment they arrived and gives values
back; a line it cannot read is a value too (`LineFault`), so that one bad line never ends a stream. How the bytes
are cut into chunks never changes what comes out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Protocol, runtime_checkable


class Condition(StrEnum):
    """What a line of a scale says about the pan, beside its number."""

    WEIGHT = "weight"
    OVERLOAD = "overload"
    UNDERLOAD = "underload"
    NO_NUMBER = "no number"
    """The line was understood and carries no weight (dashes, a blank display, a menu)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One line of a scale, understood.

    Attributes
    ----------
    at_ns : int
        Monotonic moment of arrival. [ns]
    value : Decimal | None
        The number as shown, its decimals kept; None unless the condition is WEIGHT. [unit]
    unit : str
        Unit as a plain symbol: "g", "kg", "oz", "lb", ... ; never empty.
    condition : Condition
        Weight, overload, underload or no number.
    steady : bool | None
        The scale's own steady word; None when the line has none. Never proof, at most a veto.
    net : bool | None
        True when the scale says that a tare is taken off; None when the line does not tell.
    raw : bytes
        The line's bytes as they came, without the line end.
    """

    at_ns: int
    value: Decimal | None
    unit: str
    condition: Condition
    steady: bool | None
    net: bool | None
    raw: bytes


@dataclass(frozen=True, slots=True)
class LineFault:
    """A line that could not be read: what was found and what was wanted, in words.

    Attributes
    ----------
    at_ns : int
        Monotonic moment of arrival. [ns]
    raw : bytes
        The line's bytes, cut to the framer's limit.
    found : str
        What the line holds, made fit to show.
    wanted : str
        What the profile describes.
    """

    at_ns: int
    raw: bytes
    found: str
    wanted: str


@runtime_checkable
class ScaleDriver(Protocol):
    """Turns the bytes of a scale into readings."""

    @property
    def profile_name(self) -> str:
        """Name of the profile this driver was made from."""
        ...

    def feed(self, chunk: bytes, at_ns: int) -> list[Reading | LineFault]:
        """Take bytes as they come and return what they complete.

        Parameters
        ----------
        chunk : bytes
            Bytes in the order they arrived; any cut is fine.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        list[Reading | LineFault]
            What the bytes completed, oldest first; empty while a line is unfinished.
        """
        ...

    def link_lost(self) -> None:
        """Forget an unfinished line: what comes next is a new stream and its first, partial line is dropped."""
        ...


@dataclass(frozen=True, slots=True)
class PlaneReading:
    """Amount and angle that a balancing machine shows for one plane, as printed and as meant.

    Attributes
    ----------
    plane : str
        The bench's name of the plane ("front", "rear"), already mapped by the profile.
    amount : Decimal
        As printed. [unit of the run]
    angle : Decimal
        As printed. [deg of the machine's own scale]
    heavy_angle_deg : float
        Where the excess mass is: counter-clockwise positive seen from the front, in [0, 360). [deg]
    """

    plane: str
    amount: Decimal
    angle: Decimal
    heavy_angle_deg: float


@dataclass(frozen=True, slots=True)
class SpinReading:
    """One run of a balancing machine, whole.

    Attributes
    ----------
    label : str
        The machine's own name or number of the run; empty when it prints none.
    unit : str
        Unit of the amounts: "g" at the correction radius, "g mm" or "oz in".
    planes : tuple[PlaneReading, ...]
        One a plane, in the profile's order.
    speed_rpm : float | None
        Speed of the run where the text tells it. [1/min]
    raw : str
        The run's text as it came (decoded, undecodable bytes as backslash escapes).
    """

    label: str
    unit: str
    planes: tuple[PlaneReading, ...]
    speed_rpm: float | None
    raw: str


@dataclass(frozen=True, slots=True)
class ExportFault:
    """A text that is not taken, whole: where it stopped making sense, what was found, what was wanted.

    Attributes
    ----------
    line : int
        First line that does not fit, counted from 1; 0 for the text as a whole.
    found : str
        What stands there, made fit to show.
    wanted : str
        What the profile describes.
    do : str
        What the person can do about it.
    """

    line: int
    found: str
    wanted: str
    do: str


@runtime_checkable
class ExportReader(Protocol):
    """Turns the text of a balancing machine into runs."""

    @property
    def profile_name(self) -> str:
        """Name of the profile this reader was made from."""
        ...

    def read(self, data: bytes) -> list[SpinReading | ExportFault]:
        """Read a whole text.

        Parameters
        ----------
        data : bytes
            The whole file or capture.

        Returns
        -------
        list[SpinReading | ExportFault]
            The runs in the order they stand, or a single fault: a text is taken whole or not at all.
        """
        ...


@runtime_checkable
class RunsApart(Protocol):
    """A driver that runs in a process of its own, may be slow, and may come to an end."""

    @property
    def trouble(self) -> str:
        """Why it does not read any more; empty while it does."""
        ...

    def close(self) -> None:
        """End its process."""
        ...


class LinkState(StrEnum):
    """How a link is, in words that a person can act on."""

    OPEN = "open"
    ABSENT = "absent"
    BUSY = "busy"
    FORBIDDEN = "forbidden"
    SILENT = "silent"
    LOST = "lost"
    GARBLED = "garbled"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class LinkChange:
    """A link went from one state to another.

    Attributes
    ----------
    at_ns : int
        Monotonic moment. [ns]
    state : LinkState
        The new state.
    detail : str
        What the operating system said, made fit to show; may be empty.
    remedy : str
        The next step for the person, one sentence; may be empty when all is well.
    """

    at_ns: int
    state: LinkState
    detail: str = ""
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class InstrumentIdentity:
    """Which instrument this is, by what stays the same when it is plugged in elsewhere.

    Attributes
    ----------
    profile : str
        Profile the bytes are read with.
    serial_number : str
        Serial number from USB or the profile; empty when unknown.
    location : str
        USB location or network address; never a port name alone.
    kind : str
        "scale" or "balancer".
    """

    profile: str
    serial_number: str = ""
    location: str = ""
    kind: str = "scale"


LinkItem = bytes | LinkChange


class Link(Protocol):
    """Carries bytes from one instrument; runs in a thread of its own and comes back by itself."""

    def start(self) -> None:
        """Begin; items go to the sink the link was made with."""
        ...

    def send(self, data: bytes) -> None:
        """Write to the instrument (a poll text); dropped while the link is not open."""
        ...

    def stop(self) -> None:
        """End the thread and close the port; returns within a second even when a read hangs."""
        ...


class LinkSink(Protocol):
    """Where a link delivers, called from the link's own thread."""

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        """Take bytes with the moment they arrived."""
        ...

    def link_changed(self, change: LinkChange) -> None:
        """Take a change of the link's state."""
        ...


@dataclass(frozen=True, slots=True)
class PortSeen:
    """One place an instrument could be, as the machine lists it now.

    Attributes
    ----------
    url : str
        What to open.
    words : str
        Description, made fit to show.
    serial_number : str
        Empty when unknown.
    location : str
        Empty when unknown.
    """

    url: str
    words: str
    serial_number: str = ""
    location: str = ""


@dataclass(frozen=True, slots=True)
class DriverLoadFault:
    """A driver or profile that could not be loaded; the rest goes on.

    Attributes
    ----------
    name : str
        Entry point or profile.
    words : str
        Why, in one sentence.
    """

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class ExportText:
    """A whole text that a folder, file or port delivered.

    Attributes
    ----------
    name : str
        File name without folder, or the port's words.
    data : bytes
        The bytes, whole.
    sha256 : str
        Hex digest of the bytes, by which a second copy is recognised.
    """

    name: str
    data: bytes
    sha256: str
    at_ns: int = field(default=0)


ReadingOrFault = Reading | LineFault
Readings = Sequence[ReadingOrFault]

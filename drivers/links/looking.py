"""Looks at several ports at once, for a moment: what state each is in, and what comes out of it."""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass

from drivers.contract import LinkChange, LinkState, PortSeen
from drivers.links.opening import port_link
from drivers.links.port_errors import REMEDIES
from drivers.links.serial_link import Patience
from drivers.profile import PortSettings
from drivers.showing import shown_bytes
from drivers.teach_port import Heard, is_plausible

_PATIENCE = Patience(first_retry_s=5.0, silent_after_s=None)
_KEPT = 4096


@dataclass(frozen=True, slots=True)
class PortState:
    """A port and what it is like now.

    Attributes
    ----------
    port : PortSeen
        Which port.
    state : LinkState
        OPEN when lines of text come; SILENT, GARBLED, BUSY, FORBIDDEN or ABSENT otherwise.
    detail : str
        What the operating system said, or the last whole line that came, made fit to show.
    remedy : str
        The next step for the person; empty when all is well.
    """

    port: PortSeen
    state: LinkState
    detail: str
    remedy: str


class _Ear:
    """Keeps what one port says."""

    def __init__(self) -> None:
        self.data = b""
        self.change = LinkChange(0, LinkState.ABSENT, "it did not open in time", REMEDIES[LinkState.ABSENT])

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:  # noqa: ARG002 - the moment does not matter here
        self.data = (self.data + chunk)[-_KEPT:]

    def link_changed(self, change: LinkChange) -> None:
        if change.state is not LinkState.CLOSED:
            self.change = change


def look_at(
    ports: Sequence[PortSeen], *, listen_s: float = 1.2, settings: PortSettings | None = None
) -> list[PortState]:
    """Open each port for a moment and listen.

    Parameters
    ----------
    ports : Sequence[PortSeen]
        The ports.
    listen_s : float
        How long to listen, to all of them at once. [s]
    settings : PortSettings | None
        How to open them; the most usual way when left out.

    Returns
    -------
    list[PortState]
        In the same order.
    """
    ears = [_Ear() for _ in ports]
    links = [
        port_link(port.url, ear, port=settings or PortSettings(), patience=_PATIENCE)
        for port, ear in zip(ports, ears, strict=True)
    ]
    for link in links:
        link.start()
    time.sleep(listen_s if links else 0.0)
    stoppers = [threading.Thread(target=link.stop, daemon=True) for link in links]
    for stopper in stoppers:
        stopper.start()
    for stopper in stoppers:
        stopper.join(2.0)
    return [_judged(port, ear) for port, ear in zip(ports, ears, strict=True)]


def _judged(port: PortSeen, ear: _Ear) -> PortState:
    change = ear.change
    if change.state is not LinkState.OPEN:
        return PortState(port, change.state, change.detail, change.remedy)
    if not ear.data:
        return PortState(port, LinkState.SILENT, "", REMEDIES[LinkState.SILENT])
    words = last_line(ear.data)
    if is_plausible(Heard(ear.data)):
        return PortState(port, LinkState.OPEN, words, "")
    return PortState(port, LinkState.GARBLED, words, "`spinledger teach` finds speed, parity and layout of this port")


def last_line(data: bytes) -> str:
    r"""Return the last whole line of a capture, made fit to show.

    Parameters
    ----------
    data : bytes
        What came.

    Returns
    -------
    str
        The line in quotes; of bytes without line ends, the last few.

    Examples
    --------
    >>> last_line(b"0.1 g\r\nwt 603.8 g\r\nwt 60")
    '"wt 603.8 g"'
    """
    lines = [line for line in data.replace(b"\r", b"\n").split(b"\n")[:-1] if line]
    return shown_bytes(lines[-1] if lines else data[-24:])

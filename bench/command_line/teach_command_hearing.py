"""Listens at a port while a person teaches: finds its speed, shows what comes, and keeps it."""

from __future__ import annotations

import threading
import time

from bench.command_line.teach_command_talk import Talk
from bench.command_line.teach_wiring import PortSettings, raw_link
from drivers.contract import LinkChange, LinkState
from drivers.showing import shown_bytes
from drivers.teach_cutting import lines_heard, words_of
from drivers.teach_port import CONFIRM_S, QUIET_S, Heard, dwell_s, is_plausible, settings_to_try, settled

LINES = 7
"""Lines of a step: five, and the two at its ends that may be cut."""
_LINE_WAIT_S = 12.0
_POLL_S = 0.05
_TROUBLE_S = 2.5
_SAME_WORDS_S = 6.0
_SHOWN_MOST = 40


class Hearing:
    """A port with everything that came from it.

    Parameters
    ----------
    address : str
        Where the scale is.
    port : PortSettings
        How to open it.
    """

    def __init__(self, address: str, port: PortSettings) -> None:
        self._lock = threading.Lock()
        self._data = bytearray()
        self._change = LinkChange(0, LinkState.CLOSED)
        self._link = raw_link(address, self, port=port)

    def bytes_came(self, chunk: bytes, at_ns: int) -> None:  # noqa: ARG002 - the moment does not matter here
        """Keep bytes.

        Parameters
        ----------
        chunk : bytes
            As they came.
        at_ns : int
            Moment of arrival. [ns]
        """
        with self._lock:
            self._data += chunk

    def link_changed(self, change: LinkChange) -> None:
        """Keep the link's state.

        Parameters
        ----------
        change : LinkChange
            The new state.
        """
        with self._lock:
            self._change = change

    def change(self) -> LinkChange:
        """Return how the link is now.

        Returns
        -------
        LinkChange
            The last change that was told.
        """
        with self._lock:
            return self._change

    def mark(self) -> int:
        """Return a mark for `since`.

        Returns
        -------
        int
            How many bytes have come.
        """
        with self._lock:
            return len(self._data)

    def since(self, mark: int) -> bytes:
        """Return what came since a mark.

        Parameters
        ----------
        mark : int
            From `mark`.

        Returns
        -------
        bytes
            In order.
        """
        with self._lock:
            return bytes(self._data[mark:])

    def start(self) -> None:
        """Begin to listen."""
        self._link.start()

    def stop(self) -> None:
        """Leave the port."""
        self._link.stop()


def find_setting(address: str, talk: Talk) -> PortSettings | LinkChange | None:
    """Try one setting after the other until lines of text come, and say what each gives.

    Parameters
    ----------
    address : str
        Where the scale is.
    talk : Talk
        Tells the person.

    Returns
    -------
    PortSettings | LinkChange | None
        The setting; or the trouble the port is in; or None when nothing came, or nothing that looks like text.
    """
    began, heard_any = time.monotonic(), False
    # What comes over a network has no speed that could be tried from here.
    tries = [PortSettings()] if "://" in address else list(settings_to_try())
    for setting in tries:
        heard = _heard(address, setting, QUIET_S if len(tries) == 1 else dwell_s(setting))
        if isinstance(heard, LinkChange):
            return heard
        heard_any = heard_any or bool(heard.data)
        talk.say(f"  {setting_words(setting)}: {_heard_words(heard)}")
        if is_plausible(heard):
            kept = settled(setting, heard)
            again = _heard(address, kept, CONFIRM_S)
            if isinstance(again, Heard) and is_plausible(again):
                talk.say(f"  this looks like a scale: {setting_words(kept)}")
                return kept
        if not heard_any and time.monotonic() - began > QUIET_S:
            return None
    return None


def _heard(address: str, setting: PortSettings, for_s: float) -> Heard | LinkChange:
    """Listen with one setting; end early when enough was heard."""
    hearing = Hearing(address, setting)
    hearing.start()
    began = time.monotonic()
    try:
        # A network connection takes a moment, and so may a port that was just left.
        while hearing.change().state is not LinkState.OPEN:
            if time.monotonic() - began > _TROUBLE_S:
                return hearing.change()
            time.sleep(_POLL_S)
        opened = time.monotonic()
        while time.monotonic() - opened < for_s:
            time.sleep(_POLL_S)
            heard = Heard(hearing.since(0))
            if time.monotonic() - opened > dwell_s(setting) and is_plausible(heard):
                return heard
        return Heard(hearing.since(0))
    finally:
        hearing.stop()


def _heard_words(heard: Heard) -> str:
    if not heard.data:
        return "nothing"
    lines = [one for one in lines_heard(heard.data) if one.strip()]
    return shown_bytes((lines[-1] if lines else heard.data[-24:]).rstrip(b"\r\n"))


def setting_words(setting: PortSettings) -> str:
    """Return a setting in words.

    Parameters
    ----------
    setting : PortSettings
        The setting.

    Returns
    -------
    str
        For example "9600 bit/s, 8 bits, parity none".
    """
    return f"{setting.baud} bit/s, {setting.bits} bits, parity {setting.parity}"


def hear_lines(
    hearing: Hearing, talk: Talk, *, lines: int = LINES, like: bytes = b"", patience_s: float = _LINE_WAIT_S
) -> bytes:
    """Wait for some lines and show each as it comes.

    Parameters
    ----------
    hearing : Hearing
        The port.
    talk : Talk
        Tells the person.
    lines : int
        How many.
    like : bytes
        A capture of a pan at rest: for a while the lines are waited for that carry the same words.
    patience_s : float
        How long to wait for all the lines. [s]

    Returns
    -------
    bytes
        The last so many lines that came, or fewer when the scale fell silent.
    """
    wanted = {words_of(line) for line in lines_heard(like)[1:-1]}
    mark, shown, began = hearing.mark(), 0, time.monotonic()
    while True:
        raw = hearing.since(mark)
        got = lines_heard(raw)
        for one in got[shown:]:
            if one.strip() and shown < _SHOWN_MOST:
                talk.say("  heard " + shown_bytes(one.rstrip(b"\r\n")))
            shown += 1
        waited = time.monotonic() - began
        last = got[-lines:]
        at_rest = not wanted or all(words_of(line) in wanted for line in last) or waited > _SAME_WORDS_S
        if len(got) >= lines and at_rest:
            return b"".join(last)
        if waited > patience_s:
            if raw and not got:
                talk.say(f"  heard {shown_bytes(raw[-40:])}, without an end of line")
            return b"".join(last) if got else raw
        time.sleep(_POLL_S)

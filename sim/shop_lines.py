"""A shop without a wall clock: line after line as fast as the computer can, for judging rules over whole jobs."""

from __future__ import annotations

from dataclasses import dataclass

from sim.indicator import Shown
from sim.scale_wire import line_bytes
from sim.shop import Shop
from sim.wire_faults import WireFaults


@dataclass(frozen=True, slots=True)
class SentLine:
    """What comes over the line at one moment.

    Attributes
    ----------
    at_s : float
        Moment of the simulated time. [s]
    data : bytes
        Bytes that arrive; empty while the cable is out or the line is silent.
    shown : Shown
        What the display shows, whatever arrives.
    plugged : bool
        Whether the cable is in.
    """

    at_s: float
    data: bytes
    shown: Shown
    plugged: bool


class ShopLines:
    """Goes on with a shop from line to line.

    Parameters
    ----------
    shop : Shop
        The shop; told what to do directly.
    faults : WireFaults
        What the line does.
    """

    def __init__(self, shop: Shop, faults: WireFaults) -> None:
        self._shop = shop
        self._faults = faults
        self._plug_at_s = 0.0

    def pull(self, seconds: float) -> None:
        """Pull the cable out for a while.

        Parameters
        ----------
        seconds : float
            Simulated time. [s]
        """
        self._plug_at_s = self._shop.scale.now_s + seconds

    def next_line(self) -> SentLine:
        """Go on until the next line is due.

        Returns
        -------
        SentLine
            What arrives then.
        """
        while True:
            self._shop.step()
            shown = self._shop.scale.advance()
            wish_s = self._shop.unplug_wish_s()
            if wish_s > 0.0:
                self.pull(wish_s)
            if shown is None:
                continue
            at_s = self._shop.scale.now_s
            plugged = at_s >= self._plug_at_s
            data = self._faults.passed(line_bytes(shown), at_s) if plugged else b""
            return SentLine(at_s, data, shown, plugged)

    def run_until_idle(self, *, most_s: float = 300.0) -> list[SentLine]:
        """Go on until nothing is in hand.

        Parameters
        ----------
        most_s : float
            Simulated time after which to stop anyway. [s]

        Returns
        -------
        list[SentLine]
            All lines on the way.
        """
        give_up_s = self._shop.scale.now_s + most_s
        lines = [self.next_line()]
        while self._shop.busy and lines[-1].at_s < give_up_s:
            lines.append(self.next_line())
        return lines

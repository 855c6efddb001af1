"""While a bobweight is made: which washers and shims of the shop's stock bring it to its target."""

from __future__ import annotations

from bench.capture.decisions import Live, Phase
from bench.capture.units import GRAMS, division_of
from bench.computation.errors import QuantityError
from bench.computation.shims import ShimPack, shim_pack
from bench.use_cases.weigh_rules import WeighRules

STILL_S = 1.0
STILL_DIVISIONS = 2.0
LEAST_SHARE = 0.3


def pack_words(pack: ShimPack, *, places: int) -> str:
    """Return a pack in words.

    Parameters
    ----------
    pack : ShimPack
        What to put on each half.
    places : int
        Decimals of the scale.

    Returns
    -------
    str
        "from stock, on each half: 1 x washer 20 g, 2 x shim 1 g (6 pieces; comes to 1042.0 g, +0.0 g off)".
    """
    if not pack.pieces:
        return "nothing in stock brings it nearer, in pairs"
    pieces = ", ".join(f"{count} x {name}" for name, count in pack.each_half.items())
    reached = f"{pack.pieces} pieces; comes to {pack.reached_g:.{places}f} g, {pack.off_g:+.{places}f} g off"
    first = "from stock" if pack.within else "the nearest from stock"
    return f"{first}, on each half: {pieces} ({reached})"


class ShimProposal:
    """Looks at what lies on the pan and proposes once it stands still.

    Parameters
    ----------
    rules : WeighRules
        The stock.
    """

    def __init__(self, rules: WeighRules) -> None:
        self._stock = rules.stock
        self._since: tuple[float, float] | None = None
        self._asked: tuple[float, float] | None = None
        self.words = ""

    def clear(self) -> None:
        """Forget what was proposed."""
        self._since = self._asked = None
        self.words = ""

    def see(self, live: Live, *, target_g: float, band_g: float) -> None:
        """Take a reading.

        Parameters
        ----------
        live : Live
            What the scale shows.
        target_g : float
            What the bobweight must weigh. [g]
        band_g : float
            How near is good. [g]
        """
        if live.phase is Phase.EMPTY:
            self.clear()
        if not self._stock or live.difference_g is None or live.shown is None or live.unit not in GRAMS:
            return
        missing, division = live.difference_g, float(division_of(live.shown) * GRAMS[live.unit])
        if target_g - missing < LEAST_SHARE * target_g:
            self.clear()
            return
        now_s = live.at_ns / 1e9
        if self._since is None or abs(missing - self._since[1]) > STILL_DIVISIONS * division:
            self._since = (now_s, missing)
            return
        told = self._asked is not None and abs(self._asked[1] - missing) <= STILL_DIVISIONS * division
        if now_s - self._since[0] < STILL_S or (told and self._asked is not None and self._asked[0] == target_g):
            return
        self._asked = (target_g, missing)
        self.words = "" if missing <= band_g else self._propose(target_g, missing, band_g, division)

    def _propose(self, target_g: float, missing_g: float, band_g: float, division_g: float) -> str:
        places = max(0, -int(f"{division_g:e}".partition("e")[2]))
        try:
            pack = shim_pack(self._stock, target_g=target_g, empty_g=target_g - missing_g, tolerance_g=band_g)
        except QuantityError as fault:
            return f"no proposal from the stock: {fault}"
        return pack_words(pack, places=places)

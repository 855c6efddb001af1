"""Which part this is: the running set, its neighbours, and how much proof a value needs."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt
from statistics import median

from bench.capture.decisions import Expected
from bench.capture.settings import WeighSettings
from bench.capture.units import CONFUSIONS

MAD_TO_SD = 1.4826
FLOOR_SHARE = 0.0015
FLOOR_G = 0.15
FLOOR_DIVISIONS = 1.5
FIRST_HIDDEN_S = 0.8
QUICK_HIDDEN_S = 0.28
SURPRISE_DEEP_S = 0.8
MIDDLE_SD = 1.3
EDGE_SD = 1.4
WIDE_HIDDEN_SD = 0.8
MIDDLE_HIDDEN_SD = 0.25
WIDE_DIVISIONS = 4.0
USUAL_COUNT = 4
KIN_SD = 3.5
SET_SHARE = 0.03
SET_SD = 8.0
SMALLEST_G = 0.5
PAIR_SHARE = 0.06
NOMINAL_SHARE = 0.20
NEIGHBOUR_SHARE = 0.03
NEIGHBOUR_SD = 4.0
TWO_SHARE = 0.03
WIDEST_SHARE = 0.4
UNIT_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class Kin:
    """Middle and robust spread of a kind.

    Attributes
    ----------
    count : int
        Members weighed in this job; 0 when only the nominal weight is known.
    middle_g : float
        Median, or the nominal weight. [g]
    spread_g : float
        Robust standard deviation, never below what a set shows by itself. [g]
    believed_g : float
        What a set usually shows, corrected by what this one has shown: tells surprises. [g]
    """

    count: int
    middle_g: float
    spread_g: float
    believed_g: float


def kin_of(values: list[float], nominal_g: float | None, *, division_g: float) -> Kin | None:
    """Return middle and spread of a kind.

    Parameters
    ----------
    values : list[float]
        Members of this job. [g]
    nominal_g : float | None
        Nominal weight. [g]
    division_g : float
        Division. [g]

    Returns
    -------
    Kin or None
        None when nothing is known.
    """
    if not values and nominal_g is None:
        return None
    middle = median(values) if values else float(nominal_g or 0.0)
    floor = max(FLOOR_SHARE * middle, FLOOR_DIVISIONS * division_g, FLOOR_G)
    spread = MAD_TO_SD * median(abs(v - middle) for v in values) if values else 0.0
    n = len(values)
    believed = sqrt((USUAL_COUNT * floor**2 + n * spread**2) / (USUAL_COUNT + n))
    return Kin(n, middle, max(spread, floor), max(spread, believed))


class Family:
    """What is due, and everything that could be mistaken for it.

    Parameters
    ----------
    due : Expected
        What is due.
    division_g : float
        Division of the scale. [g]
    """

    def __init__(self, due: Expected, *, division_g: float) -> None:
        self._label = due.label
        self._division_g = division_g
        own = [m.grams for m in due.members if m.kind == due.kind]
        self.own = kin_of(own, due.nominal_g, division_g=division_g)
        others: dict[str, list[float]] = {}
        for member in due.members:
            if member.kind != due.kind:
                others.setdefault(member.kind, []).append(member.grams)
        nominals = dict(due.nominals)
        self._others: dict[str, Kin] = {}
        for kind in {**others, **nominals}:
            kin = kin_of(others.get(kind, []), nominals.get(kind), division_g=division_g)
            if kind != due.kind and kin is not None:
                self._others[kind] = kin

    @property
    def expected_g(self) -> float | None:
        """Weight to look for, in grams; None when nothing is known."""
        return self.own.middle_g if self.own else None

    def proof_s(self, grams: float, *, uncertainty_g: float, settings: WeighSettings, hidden: float = 0.0) -> float:
        """Return how long a value must stand still before it is believed.

        Parameters
        ----------
        grams : float
            The value. [g]
        uncertainty_g : float
            Its standard uncertainty. [g]
        settings : WeighSettings
            Times.
        hidden : float
            How far noise hides the tremor of a hand that rests on the part: 1 for wholly, up to 2 for deeply.

        Returns
        -------
        float
            Longer the more surprising the value is. [s]
        """
        deep = max(0.0, hidden - 1.0)
        hidden = min(1.0, hidden)
        if self.own is None or self.own.count == 0:
            return settings.first_s + FIRST_HIDDEN_S * hidden
        off = abs(grams - self.own.middle_g) / hypot(self.own.believed_g, uncertainty_g)
        # a hand's push hides in the spread of a wide set and its tremor in noise: only the very middle is quick then
        wide = self.own.believed_g > WIDE_DIVISIONS * self._division_g
        middle = MIDDLE_SD + MIDDLE_HIDDEN_SD * hidden - (WIDE_HIDDEN_SD * hidden if wide else 0.0)
        edge = middle + EDGE_SD - MIDDLE_SD
        quick_s = settings.fits_s + QUICK_HIDDEN_S * hidden
        surprise_s = settings.surprise_s + SURPRISE_DEEP_S * deep
        if off <= middle:
            return quick_s
        if off > edge:
            return surprise_s
        return quick_s + (surprise_s - quick_s) * (off - middle) / (edge - middle)

    def fits(self, grams: float) -> bool:
        """Return whether a value can be of the kind that is due.

        Parameters
        ----------
        grams : float
            The value. [g]

        Returns
        -------
        bool
            False: not taken without being told to.
        """
        if not grams > 0:
            return False
        own = self.own
        if own is None:
            return self._neighbour(grams) is None
        off = abs(grams - own.middle_g)
        if own.count >= 2:
            near = off <= max(SET_SD * own.spread_g, SET_SHARE * own.middle_g, SMALLEST_G)
        elif own.count == 1:
            near = off <= max(PAIR_SHARE * own.middle_g, SMALLEST_G)
        else:
            near = off <= max(NOMINAL_SHARE * own.middle_g, SMALLEST_G)
        if not near or off > WIDEST_SHARE * own.middle_g:  # two of a kind are never one of it, however light
            return False
        doubtful_share = NEIGHBOUR_SHARE if own.count == 0 else KIN_SD * own.spread_g / own.middle_g
        return off <= doubtful_share * own.middle_g or self._neighbour(grams) is None

    def _neighbour(self, grams: float) -> str | None:
        best: tuple[float, str] | None = None
        for kind, kin in self._others.items():
            reach = max(NEIGHBOUR_SD * kin.spread_g, NEIGHBOUR_SHARE * kin.middle_g, SMALLEST_G)
            off = abs(grams - kin.middle_g)
            if off <= reach and (best is None or off < best[0]):
                best = (off, kind)
        return best[1] if best else None

    def words(self, grams: float, *, places: int) -> str:
        """Return what was seen and what was expected.

        Parameters
        ----------
        grams : float
            The value. [g]
        places : int
            Decimals of the scale.

        Returns
        -------
        str
            One sentence.
        """
        seen = f"{grams:.{places}f} g lies on the pan"
        middle = self.expected_g
        about = "is due" if middle is None else f"should be about {middle:.{places}f} g"
        wanted = f"{self._label} {about}"
        neighbour = self._neighbour(grams)
        if middle is not None and abs(grams - 2 * middle) <= TWO_SHARE * 2 * middle:
            return f"{seen}: it looks like two at once; {wanted}"
        if neighbour is not None:
            return f"{seen}: it looks like a {neighbour.replace('_', ' ')}; {wanted}"
        if middle is not None and grams > 0:
            for ratio in CONFUSIONS:
                for share in (grams / middle * ratio, grams / middle / ratio):
                    if abs(share - 1.0) <= UNIT_SHARE:
                        return f"{seen}: it looks as if the scale shows another unit; {wanted}"
        return f"{seen}: {wanted}"

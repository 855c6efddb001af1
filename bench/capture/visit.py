"""One visit of something to the pan, from the first reading above the threshold until the pan is empty again."""

from __future__ import annotations

from dataclasses import dataclass, field

from bench.capture.decisions import Expected, Taken
from bench.capture.second_look import SecondLook
from bench.capture.settle import Plateau

CLEARLY_OFF = 0.05


@dataclass(slots=True)
class Laid:
    """A part whose value was taken and that still lies there.

    Attributes
    ----------
    taken : Taken
        As decided.
    due : Expected
        What was due.
    weight_g : float
        Its weight. [g]
    tolerance_g : float
        Calm levels nearer than this are the same. [g]
    reach_g : float
        Single readings nearer than this belong to the level. [g]
    look : SecondLook
        What is seen of it since.
    lowest_g : float
        Lowest level since it last stood still, less the zero. [g]
    highest_g : float
        Highest level since then, less the zero. [g]
    disturbed : bool
        It does not stand still any more.
    interrupted : bool
        Lines were missing: it may have been changed for another one.
    look_cut : bool
        Lines were missing while it still lay there: the second look tells nothing.
    half_off_s : float | None
        Since when less than half of it is there. [s]
    longest_off_s : float
        Longest time during which less than half of it was there. [s]
    first_half_s : float | None
        When less than half of it was left the last time. [s]
    strange_s : float | None
        Since when a level is seen that fits nothing. [s]
    floor_g : float | None
        Lowest calm level since it was disturbed, less the zero. [g]
    rose : bool
        Something lay on that level since.
    near_lines : int
        Lines near the zero since it was disturbed.
    last_g : float
        Level at the last line since then, less the zero. [g]
    jumped_s : float | None
        When a good part of the weight came or went last. [s]
    """

    taken: Taken
    due: Expected
    weight_g: float
    tolerance_g: float
    reach_g: float
    look: SecondLook
    lowest_g: float
    highest_g: float
    disturbed: bool = False
    interrupted: bool = False
    look_cut: bool = False
    half_off_s: float | None = None
    longest_off_s: float = 0.0
    first_half_s: float | None = None
    strange_s: float | None = None
    floor_g: float | None = None
    rose: bool = False
    near_lines: int = 0
    last_g: float = 0.0
    jumped_s: float | None = None

    @property
    def left(self) -> bool:
        """It has been off the pan, all but for a remainder, since it last stood still."""
        return self.disturbed and self.lowest_g <= CLEARLY_OFF * self.weight_g

    def rest(self) -> None:
        """Note that it stands still again."""
        self.lowest_g = self.highest_g = self.weight_g
        self.disturbed = False
        self.half_off_s = self.first_half_s = self.strange_s = self.floor_g = None
        self.rose = False
        self.near_lines = 0
        self.jumped_s = None
        self.longest_off_s = 0.0


@dataclass(slots=True)
class Visit:
    """Something is on the pan.

    Attributes
    ----------
    since_s : float
        First reading above the threshold. [s]
    base_g : float
        What it lies on, above the zero: a stack. [g]
    base_uncertainty_g : float
        Standard uncertainty of that. [g]
    lowest_proof_s : float
        Calm it must show at least: longer after a swap. [s]
    laid : Laid | None
        Set once a value was taken.
    calm_s : float | None
        Since when it has been calm. [s]
    flat_s : float | None
        When it was last seen flat. [s]
    best : tuple[Plateau, float] | None
        Best plateau so far and its uncertainty.
    veto_s : float | None
        Since when the scale's own word alone holds it back. [s]
    too_soon : bool
        Laid before anyone could hear that the one before is due again.
    perhaps : Laid | None
        What has left so shortly before that a hand may have laid it back.
    must_lift : bool
        Nothing is taken of it before the pan has been empty.
    blocked_g : float | None
        A level that was refused: nothing is taken of it. [g]
    asked_g : float | None
        The level a question was asked about. [g]
    highest_g : float
        Highest reading, less the zero. [g]
    lowest_plateau_g : float | None
        Lowest calm level, less the zero. [g]
    highest_plateau_g : float
        Highest calm level, less the zero. [g]
    rough_g : float
        Scatter that has lasted at this load. [g]
    advised : set[str]
        Sentences said already.
    """

    since_s: float
    base_g: float = 0.0
    base_uncertainty_g: float = 0.0
    lowest_proof_s: float = 0.0
    laid: Laid | None = None
    calm_s: float | None = None
    flat_s: float | None = None
    best: tuple[Plateau, float] | None = None
    veto_s: float | None = None
    too_soon: bool = False
    perhaps: Laid | None = None
    must_lift: bool = False
    blocked_g: float | None = None
    asked_g: float | None = None
    highest_g: float = 0.0
    lowest_plateau_g: float | None = None
    highest_plateau_g: float = 0.0
    rough_g: float = 0.0
    advised: set[str] = field(default_factory=set[str])

"""What the weigh machines are told and what they decide. Values only, so that a recording replays to the same."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum


class Phase(StrEnum):
    """Where a placement is."""

    WAITING_FOR_SCALE = "waiting for the scale"
    CLEAR_PAN = "clear the pan"
    EMPTY = "pan empty"
    SETTLING = "settling"
    TAKEN = "taken, lift it"
    ASKING = "asking"
    HELD = "held"


@dataclass(frozen=True, slots=True)
class Member:
    """A value already weighed in this job, as the machine needs it to know families.

    Attributes
    ----------
    kind : str
        Kind of the part.
    place : int
        Cylinder or throw.
    grams : float
        Value. [g]
    """

    kind: str
    place: int
    grams: float


@dataclass(frozen=True, slots=True)
class Expected:
    """What is due on the pan.

    Attributes
    ----------
    key : str
        Cell or bobweight key, e.g. "piston 3"; decisions carry it back.
    kind : str
        Kind due.
    label : str
        Words for a person, e.g. "piston 3".
    nominal_g : float | None
        Expected weight where known. [g]
    limit_g : float | None
        Allowed spread of the set: decides how good the uncertainty must be. [g]
    members : tuple[Member, ...]
        All values of this job so far, of every kind.
    nominals : tuple[tuple[str, float], ...]
        Nominal weight of each kind where known. [g]
    light : bool
        A part of a few grams: the threshold for "something is on" must be low.
    swings : bool
        Hung on a fixture and swinging: needs whole swings.
    stacked : bool
        Laid on top of what was taken before it: weighed by difference.
    target_g : float | None
        For bobweights: the weight it is brought to. [g]
    band_g : float | None
        For bobweights: how near is good. [g]
    """

    key: str
    kind: str
    label: str
    nominal_g: float | None = None
    limit_g: float | None = None
    members: tuple[Member, ...] = ()
    nominals: tuple[tuple[str, float], ...] = ()
    light: bool = False
    swings: bool = False
    stacked: bool = False
    target_g: float | None = None
    band_g: float | None = None


@dataclass(frozen=True, slots=True)
class Live:
    """What the pan carries now, for the big digits. At most one a reading.

    Attributes
    ----------
    at_ns : int
        Moment of the reading. [ns]
    shown : Decimal | None
        As the scale shows it. [unit]
    unit : str
        Its unit.
    net_g : float | None
        Reading less the tracked zero (and base of a stack). [g]
    phase : Phase
        Where the placement is.
    difference_g : float | None
        For bobweights: what is missing (positive: add) to the target. [g]
    """

    at_ns: int
    shown: Decimal | None
    unit: str
    net_g: float | None
    phase: Phase
    difference_g: float | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """A value is good enough: record it, then tell the person he may lift.

    Attributes
    ----------
    key : str
        What was due.
    shown : Decimal
        The display's value for it (most frequent in the window), zero taken off, at the scale's division. [unit]
    unit : str
        Unit of `shown`.
    grams : Decimal
        `shown` in grams, rounded to the scale's division.
    refined_g : float
        Location of the window less the zero. [g]
    standard_uncertainty_g : float
        By the cg-18 terms. [g]
    doubtful : bool
        The uncertainty is too large for the set's limit ("amber").
    raw : tuple[str, ...]
        The lines it rests on, as text.
    hung_g : tuple[float, ...]
        What each hanging showed, where a rod was hung more than once; empty else. [g]
    apart_g : float
        How far two of them may lie apart. [g]
    """

    at_ns: int
    key: str
    shown: Decimal
    unit: str
    grams: Decimal
    refined_g: float
    standard_uncertainty_g: float
    doubtful: bool
    raw: tuple[str, ...]
    hung_g: tuple[float, ...] = ()
    apart_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Lifted:
    """The part left; `final` differs from what was taken only when the second look amended it."""

    at_ns: int
    key: str
    final: Taken | None = None


@dataclass(frozen=True, slots=True)
class Doubted:
    """The second look does not confirm what was taken: take it back and ask for the part again.

    Attributes
    ----------
    next_lies : bool
        What is due lies there already and is plainly another part: the doubted one is asked for after it.
    """

    at_ns: int
    key: str
    words: str
    next_lies: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """The machine holds and asks; it goes on by an answer or by what is laid next.

    Attributes
    ----------
    question : str
        One sentence: what was seen and what was expected.
    choices : tuple[str, ...]
        Keys of answers: "take", "again", "skip", "clear".
    """

    at_ns: int
    key: str
    question: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Advised:
    """Why nothing happens and what would help, one sentence."""

    at_ns: int
    words: str


@dataclass(frozen=True, slots=True)
class PanCleared:
    """The pan is empty and its zero is known again."""

    at_ns: int


@dataclass(frozen=True, slots=True)
class ScaleLost:
    """The link went away; nothing is taken until the pan was seen empty again."""

    at_ns: int
    words: str
    remedy: str = field(default="")


@dataclass(frozen=True, slots=True)
class ScaleBack:
    """The link is back."""

    at_ns: int


Decision = Live | Taken | Lifted | Doubted | Asked | Advised | PanCleared | ScaleLost | ScaleBack

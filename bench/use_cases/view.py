"""What a screen shows and what a person may ask: values between the desk and any face of the program."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from bench.computation.unbalance import PlaneVerdict
from bench.models.job import Cell
from bench.models.job_state import JobLine, JobState
from bench.models.stations import StationSet
from bench.trail.at_work import UncleanEnd


class Step(StrEnum):
    """The steps of a job, in order."""

    INTAKE = "intake"
    WEIGH = "weigh"
    BOBWEIGHTS = "bobweights"
    SPIN = "spin"
    SIGN_OFF = "sign-off"
    DONE = "done"


class Tone(StrEnum):
    """What the ear is told with a message."""

    NONE = "none"
    ACCEPT = "accept"
    REFUSE = "refuse"
    ATTENTION = "attention"


@dataclass(frozen=True, slots=True)
class Instruction:
    """The one thing to do next.

    Attributes
    ----------
    headline : str
        Big words: "Lay piston 3 of 8".
    detail : str
        One sentence below it; may be empty.
    """

    headline: str
    detail: str = ""


class Doing(StrEnum):
    """What the bench waits for, for faces that act on it (tones, the simulated operator)."""

    NOTHING = "nothing"
    LAY = "lay"
    LIFT = "lift"
    EMPTY = "empty"
    MAKE = "make"
    SPIN = "spin"
    CUT = "cut"
    SIGN_OFF = "sign-off"
    ANSWER = "answer"


@dataclass(frozen=True, slots=True)
class Want:
    """What the bench waits for now.

    Attributes
    ----------
    cell : Cell | None
        For LAY: which part.
    throw : int | None
        For MAKE: which throw's bobweight.
    target_g : float | None
        For MAKE: its weight. [g]
    run : int | None
        For SPIN: number of the run that is due.
    """

    doing: Doing = Doing.NOTHING
    cell: Cell | None = None
    throw: int | None = None
    target_g: float | None = None
    run: int | None = None


@dataclass(frozen=True, slots=True)
class Notice:
    """The last thing the program said: number increases, so that a face sees that it is new."""

    number: int
    words: str
    tone: Tone
    level: str
    """ "good", "bad", "ask" or "info"."""


@dataclass(frozen=True, slots=True)
class LiveLine:
    """The scale now.

    Attributes
    ----------
    shown : str
        As displayed, e.g. "603.8"; dashes when there is none.
    unit : str
        Its unit.
    phase : str
        Words of the phase.
    difference_g : float | None
        For bobweights: positive means add. [g]
    """

    shown: str = "---.-"
    unit: str = "g"
    phase: str = "waiting for the scale"
    difference_g: float | None = None


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """One instrument's link in words."""

    name: str
    state: str
    words: str = ""
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """The program holds and asks.

    Attributes
    ----------
    words : str
        The question.
    choices : tuple[tuple[str, str], ...]
        Answer key and its words, the first is what the pedal means.
    """

    words: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SetLine:
    """One kind's set as it stands.

    Attributes
    ----------
    kind, label : str
        Key and words.
    places : tuple[int, ...]
        Cylinders or throws.
    grams : tuple[Decimal or None, ...]
        Values, None where open. [g]
    spread_g : float | None
        Largest less smallest of what is weighed. [g]
    limit_g : float | None
        Allowed. [g]
    take_off_g : tuple[float or None, ...]
        Grams above the lightest, each. [g]
    out : tuple[bool, ...]
        True where the part is heavier than the limit allows above the lightest.
    marks : tuple[str, ...]
        Each cell's state: "open", "taken", "retaken", "typed", "out of set", "doubtful", "skipped".
    """

    kind: str
    label: str
    places: tuple[int, ...]
    grams: tuple[Decimal | None, ...]
    spread_g: float | None
    limit_g: float | None
    take_off_g: tuple[float | None, ...]
    out: tuple[bool, ...]
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SumLine:
    """One line of a bobweight's sum: what, grams each, factor, grams counted."""

    label: str
    grams: float
    factor: float
    counted_g: float


@dataclass(frozen=True, slots=True)
class ThrowLine:
    """One throw's bobweight.

    Attributes
    ----------
    target_g : float | None
        None while parts are missing. [g]
    missing : tuple[str, ...]
        Cells still open on this throw.
    made_g : Decimal | None
        As made. [g]
    off_g : float | None
        Made less target. [g]
    within : bool
        Made and within the band.
    """

    throw: int
    target_g: float | None
    standard_uncertainty_g: float | None
    lines: tuple[SumLine, ...]
    missing: tuple[str, ...]
    made_g: Decimal | None
    off_g: float | None
    within: bool


@dataclass(frozen=True, slots=True)
class PlaneLine:
    """One plane as the last run shows it.

    Attributes
    ----------
    limit_g : float
        The stricter of shop limit and grade, at the correction radius. [g]
    limit_words : str
        Where the limit comes from.
    verdict : PlaneVerdict
        Inside, too close to call, outside or unknown.
    """

    plane: str
    amount_g: float | None
    angle_deg: float | None
    limit_g: float
    limit_words: str
    verdict: PlaneVerdict
    words: str


@dataclass(frozen=True, slots=True)
class CutLine:
    """One cut, proposed or made.

    Attributes
    ----------
    grams : float
        At the correction radius; 0 leaves it to the hole or the chips, negative for heavy metal put in. [g]
    depth_mm : float | None
        Depth to drill to, from the outer radius. [mm]
    from_depth_mm : float
        How deep the hole is already. [mm]
    chips_g : float | None
        Weighed chips. [g]
    """

    plane: str
    angle_deg: float
    grams: float
    station: str = ""
    diameter_mm: float | None = None
    depth_mm: float | None = None
    from_depth_mm: float = 0.0
    chips_g: float | None = None


@dataclass(frozen=True, slots=True)
class Proposal:
    """The next cuts, or why there are none.

    Attributes
    ----------
    why : str
        One or two sentences.
    expected : tuple[str, ...]
        A sentence a plane: what the next run should show.
    answer : tuple[str, ...]
        How this crank answers, in words.
    doubt : str
        What most likely went wrong before the last run; empty when it is where it was expected.
    """

    cuts: tuple[CutLine, ...]
    why: str
    expected: tuple[str, ...] = ()
    answer: tuple[str, ...] = ()
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Review:
    """Everything computed about a job from its state.

    Attributes
    ----------
    planes, whole_verdict : tuple[PlaneLine, ...], PlaneVerdict
        Of the rotor that is balanced now.
    no_verdict : str
        Why the last run cannot be a verdict whatever it shows; empty when it can.
    set_open : tuple[str, ...]
        What keeps the job from being done beside the rotor that is balanced now: rotors of a set, parts nobody named.
    """

    step: Step
    next_cell: Cell | None
    sets: tuple[SetLine, ...] = ()
    throws: tuple[ThrowLine, ...] = ()
    bobweight_mean_g: float | None = None
    bobweight_spread_g: float | None = None
    planes: tuple[PlaneLine, ...] = ()
    whole_verdict: PlaneVerdict = PlaneVerdict.UNKNOWN
    percent_figure: float | None = None
    warnings: tuple[str, ...] = ()
    no_verdict: str = ""
    set_open: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TrailLine:
    """One line of the timeline.

    Attributes
    ----------
    when : str
        RFC 3339 with microseconds, UTC: as recorded.
    local : str
        The bench's own time at that moment, to the second, with its offset.
    """

    seq: int
    when: str
    by: str
    how: str
    words: str
    raw: tuple[str, ...] = ()
    local: str = ""


@dataclass(frozen=True, slots=True)
class BenchView:
    """One moment of the bench, complete; a face draws only this."""

    simulated: bool = False
    by: str = ""
    read_only: str = ""
    care: str = ""
    jobs: tuple[JobLine, ...] = ()
    job: JobState | None = None
    review: Review | None = None
    shown_step: Step = Step.INTAKE
    instruction: Instruction = field(default_factory=lambda: Instruction("Open a job"))
    want: Want = field(default_factory=Want)
    aside: str = ""
    """What is weighed beside the sheet; empty when nothing is."""
    live: LiveLine = field(default_factory=LiveLine)
    notice: Notice | None = None
    question: Question | None = None
    instruments: tuple[InstrumentLine, ...] = ()
    proposal: Proposal | None = None
    trail: tuple[TrailLine, ...] = ()
    cautions: tuple[str, ...] = ()
    certificate_path: str = ""
    known_cranks: tuple[StationSet, ...] = ()
    one_plane: bool = False
    ended: UncleanEnd | None = None
    """How the bench ended last time, until it was seen; None when it was the usual way."""

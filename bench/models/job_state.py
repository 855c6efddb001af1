"""Where a job stands: what the fold of its events gives. Plain frozen values, computed, never stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import Literal

from bench.models.job import Cell, JobSpec, Stage
from bench.models.stations import StationSet


@dataclass(frozen=True, slots=True)
class Entry:
    """What every recorded fact carries.

    Attributes
    ----------
    event_id : str
        Id of the event it came from.
    seq : int
        Its place in the trail.
    by : str
        Initials.
    how : str
        "auto", "typed", "imported" or "simulated".
    utc : str
        RFC 3339 moment in UTC.
    """

    event_id: str
    seq: int
    by: str
    how: str
    utc: str


@dataclass(frozen=True, slots=True)
class Weighed:
    """A cell's present value and what it was before.

    Attributes
    ----------
    grams : Decimal
        The value the sheet counts with, at the scale's division. [g]
    shown : Decimal
        As the scale showed it, or as typed. [unit]
    unit : str
        Unit of `shown`.
    standard_uncertainty_g : float
        Of one weighing. [g]
    doubtful : bool
        The value's uncertainty is too large for the set's limit.
    reason : str
        Why it was typed or weighed again; empty for an ordinary weighing.
    earlier : tuple[Decimal, ...]
        Values this cell had before, oldest first. [g]
    laying : tuple[str, ...]
        Ids of the events that tell of this one laying: the first value and its refinements.
    before : Weighed | None
        What the cell had before this laying; it counts again when this laying is taken back.
    """

    entry: Entry
    grams: Decimal
    shown: Decimal
    unit: str
    standard_uncertainty_g: float
    doubtful: bool = False
    reason: str = ""
    earlier: tuple[Decimal, ...] = ()
    laying: tuple[str, ...] = ()
    before: Weighed | None = None


@dataclass(frozen=True, slots=True)
class BobweightMade:
    """A bobweight as it was made for a throw."""

    entry: Entry
    throw: int
    grams: Decimal
    target_g: float
    standard_uncertainty_g: float


@dataclass(frozen=True, slots=True)
class PlaneAmount:
    """Excess mass of one plane: grams at the correction radius and where it is."""

    plane: str
    amount_g: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Spin:
    """One run of the balancing machine.

    Attributes
    ----------
    number : int
        Counted in the job from 1.
    planes : tuple[PlaneAmount, ...]
        In the job's order of planes.
    label : str
        The machine's own name of the run.
    source_sha256 : str
        Digest of the text it came from; empty when typed.
    after_cuts : int
        Number of cuts recorded before this run.
    mounted : tuple[str, ...] | None
        Which of the parts that belong on the crank were on it; None where nobody said.
    """

    entry: Entry
    number: int
    planes: tuple[PlaneAmount, ...]
    label: str
    speed_rpm: float | None
    source_sha256: str
    after_cuts: int
    mounted: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class IndexRun:
    """A run with the bobweight set (or the fixture) turned; it does not count as the rotor's own.

    Attributes
    ----------
    run : Spin
        As it was taken.
    against : str
        Event id of the run with the set where it belongs, no cut between them.
    turned_deg : float
        How far the set was turned. [deg]
    """

    entry: Entry
    run: Spin
    against: str
    turned_deg: float


@dataclass(frozen=True, slots=True)
class AnglesProved:
    """A check of what the machine's angles mean, with a known mass.

    Attributes
    ----------
    agrees : bool
        Whether the profile was right.
    words : str
        What was found.
    trial_runs : tuple[Spin, ...]
        The runs with the mass; they do not count as the rotor's own.
    """

    entry: Entry
    instrument: str
    plane: str
    mass_g: float
    agrees: bool
    words: str
    trial_runs: tuple[Spin, ...] = ()


@dataclass(frozen=True, slots=True)
class Cut:
    """Metal that was really taken away (or, negative, added).

    Attributes
    ----------
    grams : float
        Amount removed at the correction radius; heavy metal in is negative. [g]
    angle_deg : float
        Where. [deg]
    diameter_mm, depth_mm : float | None
        The hole, where known. [mm]
    chips_g : float | None
        Weighed chips, where they were. [g]
    """

    entry: Entry
    plane: str
    angle_deg: float
    grams: float
    station: str = ""
    diameter_mm: float | None = None
    depth_mm: float | None = None
    chips_g: float | None = None


@dataclass(frozen=True, slots=True)
class RotorDone:
    """A rotor of the set that is frozen, because the next one was begun.

    Attributes
    ----------
    entry : Entry
        Who began the next one, and when.
    stage : Stage | None
        What it was; None for the job's first rotor.
    spec : JobSpec
        The job as it was for this rotor: its planes, tolerance and parts.
    inside : bool
        What its last run said.
    words : str
        Why it was left when it was not inside.
    """

    entry: Entry
    stage: Stage | None
    spec: JobSpec
    spins: tuple[Spin, ...]
    index_runs: tuple[IndexRun, ...]
    cuts: tuple[Cut, ...]
    stations: StationSet | None
    mounted: tuple[str, ...] | None
    inside: bool
    words: str


@dataclass(frozen=True, slots=True)
class ScaleCheck:
    """A known weight on the scale."""

    entry: Entry
    nominal_g: Decimal
    shown_g: Decimal
    allowed_g: float
    passed: bool


@dataclass(frozen=True, slots=True)
class SignedOff:
    """The job is done, by whom and what was confirmed."""

    entry: Entry
    deburred: bool
    cleaned: bool
    within_tolerance: bool
    words: str


@dataclass(frozen=True, slots=True)
class CertificateWritten:
    """A certificate that was handed out, with the checkpoint it carries."""

    entry: Entry
    file_name: str
    sha256: str
    length: int
    head: str


@dataclass(frozen=True, slots=True)
class Amendment:
    """What intake asked was put right: which words, why, by whom."""

    entry: Entry
    changed: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class RebuildOf:
    """The finished job that this one gives new parts to.

    Attributes
    ----------
    number : str
        Its job number.
    last_seq : int
        Its newest event at that moment.
    crank_radius_mm : float | None
        Half the stroke, where it was told. [mm]
    """

    entry: Entry
    number: str
    last_seq: int
    crank_radius_mm: float | None


@dataclass(frozen=True, slots=True)
class HandedOver:
    """Another bench goes on with the job."""

    entry: Entry
    to_bench: str
    reason: str


@dataclass(frozen=True, slots=True)
class TakenOver:
    """Where the job was begun: another bench, its number there, and whether that bench was gone."""

    entry: Entry
    from_bench: str
    number: str
    gone: bool
    reason: str


@dataclass(frozen=True, slots=True)
class JobState:
    """A job, folded from its events. Mappings are read-only views.

    Attributes
    ----------
    spec : JobSpec
        What intake asked, with the planes, tolerance and parts of the rotor that is balanced now.
    mounted : tuple[str, ...] | None
        Which of the parts that belong on the crank are on it now; None where nobody said.
    stage : Stage | None
        The rotor that is balanced now; None for the job's first.
    rotors_done : tuple[RotorDone, ...]
        Those before it, frozen.
    """

    number: str
    spec: JobSpec
    opened: Entry
    weighed: Mapping[Cell, Weighed] = field(default_factory=lambda: MappingProxyType({}))
    bobweights: Mapping[int, BobweightMade] = field(default_factory=lambda: MappingProxyType({}))
    spins: tuple[Spin, ...] = ()
    index_runs: tuple[IndexRun, ...] = ()
    angles_proved: tuple[AnglesProved, ...] = ()
    cuts: tuple[Cut, ...] = ()
    scale_checks: tuple[ScaleCheck, ...] = ()
    signed_off: SignedOff | None = None
    certificates: tuple[CertificateWritten, ...] = ()
    notes: tuple[tuple[Entry, str], ...] = ()
    withdrawn: frozenset[str] = frozenset()
    skipped: frozenset[Cell] = frozenset()
    amendments: tuple[Amendment, ...] = ()
    rebuild_of: RebuildOf | None = None
    stations: StationSet | None = None
    handed_over: HandedOver | None = None
    taken_over: TakenOver | None = None
    route: Literal["kind", "cylinder"] = "kind"
    temperatures: tuple[tuple[Entry, float], ...] = ()
    mounted: tuple[str, ...] | None = None
    stage: Stage | None = None
    rotors_done: tuple[RotorDone, ...] = ()
    last_seq: int = 0

    @property
    def runs_taken(self) -> tuple[Spin, ...]:
        """Every run that was not taken back: the rotors' own, those with the set turned, those with a known mass."""
        before = (*(s for one in self.rotors_done for s in (*one.spins, *(i.run for i in one.index_runs))),)
        trial = (*(s for one in self.angles_proved for s in one.trial_runs),)
        aside = (*(one.run for one in self.index_runs), *trial, *before)
        return tuple(sorted((*self.spins, *aside), key=lambda spin: spin.entry.seq))


@dataclass(frozen=True, slots=True)
class JobLine:
    """One row of the list of jobs."""

    number: str
    title: str
    customer: str
    engine: str
    opened_utc: str
    last_utc: str
    step: str
    simulated: bool

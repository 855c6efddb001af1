"""What a person may ask. Each is handled by the desk, which answers with a new view."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from bench.models.job import Cell, JobSpec, MountedPart, Stage
from bench.models.stations import StationSet
from bench.use_cases.bring_in import PlanIn
from bench.use_cases.due import Route
from bench.use_cases.view import BenchView, CutLine, Step


@dataclass(frozen=True, slots=True)
class ChooseJob:
    """Open this job."""

    number: str


@dataclass(frozen=True, slots=True)
class CreateJob:
    """Open a new job with what intake asked."""

    spec: JobSpec


@dataclass(frozen=True, slots=True)
class LeaveJob:
    """Back to the list of jobs."""


@dataclass(frozen=True, slots=True)
class ShowStep:
    """Look at this step; the work goes where it stands."""

    step: Step


@dataclass(frozen=True, slots=True)
class GoTo:
    """Make this cell the next one."""

    cell: Cell


@dataclass(frozen=True, slots=True)
class Skip:
    """Leave the cell that is due for later."""


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Withdraw the last weight, bobweight, run or cut of the step shown."""

    reason: str = "taken back at the bench"


@dataclass(frozen=True, slots=True)
class TypeWeight:
    """Type a weight instead of weighing it."""

    cell: Cell
    grams: Decimal
    reason: str


@dataclass(frozen=True, slots=True)
class SetRoute:
    """Ask for all of one kind, or for all of one cylinder, before the next."""

    route: Route


@dataclass(frozen=True, slots=True)
class CheckScale:
    """Put a known weight on the scale."""

    nominal_g: Decimal
    weight_class: str = "M1"


@dataclass(frozen=True, slots=True)
class NoteTemperature:
    """Say how warm it is at the scale, in degrees Celsius."""

    celsius: float


@dataclass(frozen=True, slots=True)
class CheckAssembly:
    """Weigh all parts of a cylinder at once against their sum."""

    cylinder: int


@dataclass(frozen=True, slots=True)
class Answer:
    """Answer the question that is open, by its key."""

    choice: str


@dataclass(frozen=True, slots=True)
class TypeRun:
    """Type a run: plane name to (grams, angle in degrees)."""

    planes: tuple[tuple[str, Decimal, Decimal], ...]
    reason: str


@dataclass(frozen=True, slots=True)
class RecordCuts:
    """These cuts were made."""

    cuts: tuple[CutLine, ...]


@dataclass(frozen=True, slots=True)
class PutCutsRight:
    """Recorded cuts were made otherwise: event ids and what was really done; 0 grams for a cut that was not made."""

    cuts: tuple[tuple[str, CutLine], ...]


@dataclass(frozen=True, slots=True)
class EnterStations:
    """Where metal may be taken from this crank."""

    stations: StationSet


@dataclass(frozen=True, slots=True)
class CutOnePlane:
    """Cut one plane before each run, the heavier first, or both at once; not kept with the job."""

    one_plane: bool


@dataclass(frozen=True, slots=True)
class MarkIndexRun:
    """The last run was made with the bobweight set turned by so many degrees."""

    turned_deg: float


@dataclass(frozen=True, slots=True)
class CheckMachine:
    """The last runs are one without and then one with a known mass at each of these angles: what do angles mean."""

    plane: str
    mass_g: float
    at_deg: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class EnterParts:
    """These parts belong on the crank while it is spun, and carry so much; who and why are kept."""

    parts: tuple[MountedPart, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class MountParts:
    """These of the job's parts are on the crank from now on, and were at the last run where that is said."""

    mounted: tuple[str, ...]
    last_run: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class BeginRotor:
    """The next rotor of the set is balanced from here on; the words say why the present one is left as it is."""

    rotor: Stage
    words: str = ""


@dataclass(frozen=True, slots=True)
class SignOff:
    """Declare the job done."""

    deburred: bool
    cleaned: bool
    words: str = ""


@dataclass(frozen=True, slots=True)
class MakeCertificate:
    """Write the certificate."""


@dataclass(frozen=True, slots=True)
class WriteNote:
    """Write a note into the job."""

    text: str


@dataclass(frozen=True, slots=True)
class BringIn:
    """Take the weights of a sheet that was looked at."""

    plan: PlanIn


@dataclass(frozen=True, slots=True)
class SeeEnd:
    """What was said of the last end was seen."""


@dataclass(frozen=True, slots=True)
class SetInitials:
    """Who is at the bench now."""

    by: str


Command = (
    ChooseJob
    | CreateJob
    | LeaveJob
    | ShowStep
    | GoTo
    | Skip
    | TakeBack
    | TypeWeight
    | SetRoute
    | CheckScale
    | NoteTemperature
    | CheckAssembly
    | Answer
    | TypeRun
    | RecordCuts
    | PutCutsRight
    | EnterStations
    | CutOnePlane
    | MarkIndexRun
    | CheckMachine
    | EnterParts
    | MountParts
    | BeginRotor
    | SignOff
    | MakeCertificate
    | WriteNote
    | BringIn
    | SetInitials
    | SeeEnd
)


class Desk(Protocol):
    """What a face may ask of the bench. Calls return at once; views come to the listener, from any thread."""

    def listen(self, listener: Callable[[BenchView], None]) -> None:
        """Send every new view to this listener."""
        ...

    def ask(self, command: Command) -> None:
        """Hand a command over; refused ones come back as a notice in the next view."""
        ...

    def view(self) -> BenchView:
        """Return the latest view."""
        ...

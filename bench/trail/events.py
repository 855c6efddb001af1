"""The events: the file format of the trail. Stored bytes never change; a new meaning is a new version.

Every payload is a frozen pydantic model with a `kind` and a `version`. What an instrument showed is a decimal
string. Past tense, because an event says what happened.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from bench.models.job import Cell, Finite, JobSpec, Name, Positive, Words
from bench.models.stations import StationSet
from bench.trail.keeping_events import GapFound, KeyShown, RecordSigned, UncleanEndSeen
from bench.trail.payload import Payload
from bench.trail.spin_events import SpinEvents

How = Literal["auto", "typed", "imported", "simulated"]
Shown = Annotated[Decimal, Field(allow_inf_nan=False, max_digits=12)]


class JobOpened(Payload):
    """A job was opened with all that intake asked."""

    kind: Literal["job-opened"] = "job-opened"
    version: Literal[1] = 1
    number: Name
    spec: JobSpec


class ScaleChecked(Payload):
    """A known weight was put on the scale."""

    kind: Literal["scale-checked"] = "scale-checked"
    version: Literal[1] = 1
    nominal_g: Shown
    shown_g: Shown
    allowed_g: Positive
    passed: bool


class WeightTaken(Payload):
    """A weight was taken for a cell, by the scale or typed.

    `supersedes` names the event whose value this one replaces: a refined value at lift, or a reweigh.
    """

    kind: Literal["weight-taken"] = "weight-taken"
    version: Literal[1] = 1
    cell: Cell
    shown: Shown
    unit: Annotated[str, Field(min_length=1, max_length=8)]
    grams: Shown
    refined_g: Finite
    standard_uncertainty_g: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    doubtful: bool = False
    instrument: Words = ""
    reason: Words = ""
    supersedes: str | None = None


class WeightWithdrawn(Payload):
    """A weight was taken back."""

    kind: Literal["weight-withdrawn"] = "weight-withdrawn"
    version: Literal[1] = 1
    withdraws: str
    reason: Words


class CellSkipped(Payload):
    """A cell is left out for now, or asked for again."""

    kind: Literal["cell-skipped"] = "cell-skipped"
    version: Literal[1] = 1
    cell: Cell
    skipped: bool = True


class BobweightBuilt(Payload):
    """A bobweight was made for a throw."""

    kind: Literal["bobweight-built"] = "bobweight-built"
    version: Literal[1] = 1
    throw: Annotated[int, Field(ge=1, le=64)]
    shown: Shown
    unit: Annotated[str, Field(min_length=1, max_length=8)]
    grams: Shown
    target_g: Finite
    standard_uncertainty_g: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    instrument: Words = ""
    supersedes: str | None = None


class PlaneShown(Payload):
    """One plane of a run: as printed, and where the excess mass is."""

    plane: Name
    shown_amount: Shown
    shown_angle: Shown
    amount_g: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    heavy_angle_deg: Annotated[float, Field(ge=0, lt=360, allow_inf_nan=False)]


class SpinRun(Payload):
    """A run of the balancing machine was read."""

    kind: Literal["spin-run"] = "spin-run"
    version: Literal[1] = 1
    number: Annotated[int, Field(ge=1)]
    planes: Annotated[tuple[PlaneShown, ...], Field(min_length=1, max_length=2)]
    unit: Annotated[str, Field(min_length=1, max_length=8)]
    label: Words = ""
    speed_rpm: Positive | None = None
    source_name: Words = ""
    source_sha256: Annotated[str, Field(max_length=64)] = ""
    instrument: Words = ""


class SpinWithdrawn(Payload):
    """A run was taken back."""

    kind: Literal["spin-withdrawn"] = "spin-withdrawn"
    version: Literal[1] = 1
    withdraws: str
    reason: Words


class CutMade(Payload):
    """Metal was taken away, or heavy metal put in (negative grams).

    `supersedes` names the event this one puts right: the cut was recorded otherwise than it was made.
    """

    kind: Literal["cut-made"] = "cut-made"
    version: Literal[1] = 1
    plane: Name
    angle_deg: Finite
    grams: Finite
    station: Words = ""
    diameter_mm: Positive | None = None
    depth_mm: Positive | None = None
    proposed_g: Finite | None = None
    proposed_angle_deg: Finite | None = None
    chips_g: Positive | None = None
    supersedes: str | None = None


class CutWithdrawn(Payload):
    """A cut was recorded that was not made."""

    kind: Literal["cut-withdrawn"] = "cut-withdrawn"
    version: Literal[1] = 1
    withdraws: str
    reason: Words


class StationsEntered(Payload):
    """Where metal may be taken from this crank was measured, or taken from a template."""

    kind: Literal["stations-entered"] = "stations-entered"
    version: Literal[1] = 1
    stations: StationSet


class NoteWritten(Payload):
    """A person wrote something down."""

    kind: Literal["note-written"] = "note-written"
    version: Literal[1] = 1
    text: Annotated[str, Field(min_length=1, max_length=4000)]


class JobSignedOff(Payload):
    """The job was declared done."""

    kind: Literal["job-signed-off"] = "job-signed-off"
    version: Literal[1] = 1
    deburred: bool
    cleaned: bool
    within_tolerance: bool
    words: Words


class JobReopened(Payload):
    """A finished job was opened again."""

    kind: Literal["job-reopened"] = "job-reopened"
    version: Literal[1] = 1
    reason: Words


class CertificateIssued(Payload):
    """A certificate was written; it carries the checkpoint of the trail at that moment."""

    kind: Literal["certificate-issued"] = "certificate-issued"
    version: Literal[1] = 1
    file_name: Words
    sha256: Annotated[str, Field(min_length=64, max_length=64)]
    length: Annotated[int, Field(ge=0)]
    head: Annotated[str, Field(min_length=64, max_length=64)]


class LinkChanged(Payload):
    """An instrument went away or came back while a job was open."""

    kind: Literal["link-changed"] = "link-changed"
    version: Literal[1] = 1
    instrument: Words
    state: Words
    detail: Words = ""


class ClockStepped(Payload):
    """The wall clock jumped against the monotonic clock by more than two seconds."""

    kind: Literal["clock-stepped"] = "clock-stepped"
    version: Literal[1] = 1
    by_seconds: Finite


class FileAttached(Payload):
    """A photo, or the machine's own text, was kept with the job; its bytes lie beside the trail, never interpreted."""

    kind: Literal["file-attached"] = "file-attached"
    version: Literal[1] = 1
    file_name: Words
    sha256: Annotated[str, Field(min_length=64, max_length=64)]
    size: Annotated[int, Field(ge=0, le=25_000_000)]
    about: Words = ""


class JobBroughtIn(Payload):
    """Another bench's job was taken in from a file, to look at; its events keep the hashes of its own chain."""

    kind: Literal["job-brought-in"] = "job-brought-in"
    version: Literal[1] = 1
    from_bench: Name
    number: Name
    events: Annotated[int, Field(ge=1, le=1_000_000)]
    sha256: Annotated[str, Field(min_length=64, max_length=64)]


class JobAmended(Payload):
    """What intake asked was put right later: customer, serial, limits; the old words stay in the trail."""

    kind: Literal["job-amended"] = "job-amended"
    version: Literal[1] = 1
    spec: JobSpec
    changed: Annotated[tuple[Name, ...], Field(min_length=1, max_length=20)]
    reason: Annotated[str, Field(min_length=1, max_length=200)]


class RebuildBegun(Payload):
    """The job is a finished one with new parts; the old one's numbers are its reference.

    `of_seq` is the old job's newest event at that moment, so that the reference stays what it was.
    """

    kind: Literal["rebuild-begun"] = "rebuild-begun"
    version: Literal[1] = 1
    of_number: Name
    of_seq: Annotated[int, Field(ge=1)]
    crank_radius_mm: Positive | None = None


class RouteChosen(Payload):
    """In which order the sheet is asked for from now on: all of one kind, or all of one cylinder."""

    kind: Literal["route-chosen"] = "route-chosen"
    version: Literal[1] = 1
    route: Literal["kind", "cylinder"]


class TemperatureNoted(Payload):
    """How warm it is at the scale."""

    kind: Literal["temperature-noted"] = "temperature-noted"
    version: Literal[1] = 1
    celsius: Annotated[float, Field(ge=-40, le=80, allow_inf_nan=False)]


class JobHandedOver(Payload):
    """Another bench goes on with the job; nothing more is recorded in it here."""

    kind: Literal["job-handed-over"] = "job-handed-over"
    version: Literal[1] = 1
    to_bench: Name
    reason: Annotated[str, Field(min_length=1, max_length=200)]


class JobTakenOver(Payload):
    """The job goes on here where another bench left it; what counts of it follows as entries of this chain.

    `events` and `sha256` prove which events of the other chain it was taken from: their number and the hash over
    their hashes. `gone` says that the other bench did not hand it over.
    """

    kind: Literal["job-taken-over"] = "job-taken-over"
    version: Literal[1] = 1
    from_bench: Name
    number: Name
    events: Annotated[int, Field(ge=1, le=1_000_000)]
    sha256: Annotated[str, Field(min_length=64, max_length=64)]
    gone: bool = False
    reason: Annotated[str, Field(min_length=1, max_length=200)]


AnyPayload = Annotated[
    JobOpened
    | ScaleChecked
    | WeightTaken
    | WeightWithdrawn
    | CellSkipped
    | BobweightBuilt
    | SpinRun
    | SpinWithdrawn
    | CutMade
    | CutWithdrawn
    | NoteWritten
    | JobSignedOff
    | JobReopened
    | CertificateIssued
    | LinkChanged
    | ClockStepped
    | FileAttached
    | GapFound
    | KeyShown
    | RecordSigned
    | UncleanEndSeen
    | JobBroughtIn
    | JobAmended
    | RebuildBegun
    | StationsEntered
    | JobHandedOver
    | JobTakenOver
    | RouteChosen
    | TemperatureNoted
    | SpinEvents,
    Field(discriminator="kind"),
]


class Draft(Payload):
    """An event before the trail has stamped it. The caller makes the id, so that a retry cannot double it.

    Attributes
    ----------
    id : str
        UUIDv7.
    job : str
        Job number; empty for events of the bench itself.
    by : str
        Initials.
    how : str
        auto, typed, imported or simulated.
    raw : tuple[str, ...]
        The instrument's own lines (the taken one and its neighbours), undecodable bytes as backslash escapes.
    """

    id: str
    job: str = ""
    by: Annotated[str, Field(max_length=12)] = ""
    how: How = "auto"
    raw: tuple[str, ...] = ()
    payload: AnyPayload


class Event(Draft):
    """A recorded event: a draft with its place in the chain.

    Attributes
    ----------
    seq : int
        Place in the bench's chain, from 1; the only order that counts.
    bench : str
        Which bench recorded it.
    utc : str
        RFC 3339 with microseconds, UTC.
    offset_min : int
        Local offset from UTC at that moment. [min]
    monotonic_ns : int
        Monotonic clock of the recording process. [ns]
    app_version : str
        Version of the program.
    previous_hash, hash : str
        SHA-256 in hex; the first event's previous hash is 64 zeros.
    """

    seq: int
    bench: str
    utc: str
    offset_min: int
    monotonic_ns: int
    app_version: str
    previous_hash: str
    hash: str

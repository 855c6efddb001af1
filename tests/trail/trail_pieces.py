"""What trail tests share: a clock that can be set, ids in a row, a small job, and drafts of every kind."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from bench.models.job import (
    Cell,
    CorrectionPlane,
    EngineLayout,
    JobSpec,
    PartKind,
    PartRole,
    Stage,
    Throw,
    Tolerance,
)
from bench.models.stations import CrankStation, StationSet
from bench.trail import events as e
from bench.trail import keeping_events as k
from bench.trail import spin_events as sp
from bench.trail.sqlite_store import SqliteTrail, open_record

SOME_STATIONS = StationSet(
    crank_type="four-pin",
    stations=tuple(
        CrankStation(
            name=f"{plane} 1",
            plane=plane,
            position_mm=z,
            outer_radius_mm=82.0,
            centre_deg=180.0,
            arc_deg=100.0,
            drills_mm=(10.0, 12.0),
            most_depth_mm=25.0,
        )
        for plane, z in (("front", 10.0), ("rear", 300.0))
    ),
)
SOME_FLYWHEEL = Stage(
    name="flywheel",
    planes=(CorrectionPlane(name="disc", radius_mm=140.0, position_mm=380.0),),
    tolerance=Tolerance(shop_limit_g=0.5),
)
START = datetime(2031, 5, 7, 8, 0, tzinfo=UTC)


@dataclass
class SetClock:
    """Both clocks run only when told to; the wall clock can be stepped alone."""

    wall: datetime = START
    ran_ns: int = 1_000_000_000
    offset: int = 60
    tick_s: float = 0.25

    def utc_now(self) -> datetime:
        return self.wall

    def offset_min(self) -> int:
        return self.offset

    def monotonic_ns(self) -> int:
        return self.ran_ns

    def run(self, seconds: float) -> None:
        self.wall += timedelta(seconds=seconds)
        self.ran_ns += round(seconds * 1e9)

    def step(self, seconds: float) -> None:
        self.wall += timedelta(seconds=seconds)


@dataclass
class Ids:
    """Ids in a row, in the form of a UUIDv7."""

    next: int = 0
    prefix: str = "01900000-0000-7000-8000"
    made: list[str] = field(default_factory=list)

    def __call__(self) -> str:
        self.next += 1
        self.made.append(f"{self.prefix}-{self.next:012x}")
        return self.made[-1]


def small_spec(**changes: object) -> JobSpec:
    """One throw, two cylinders, two kinds: five cells."""
    values: dict[str, object] = {
        "title": "two-cylinder pump engine",
        "customer": "Skerry Sound yard",
        "engine": "pump engine, 0.9 litre",
        "serial": "SK-0417",
        "layout": EngineLayout(name="twin", throws=(Throw(number=1, pin_deg=0.0, cylinders=(1, 2)),)),
        "kinds": (
            PartKind(name="piston", label="piston", role=PartRole.RECIPROCATING, limit_g=1.0),
            PartKind(name="rod_whole", label="rod, whole", role=PartRole.ROD_WHOLE, limit_g=1.0),
            PartKind(name="rod_bearings", label="shells of a throw", role=PartRole.ROTATING, per="throw"),
        ),
        "reciprocating_share": 0.5,
        "oil_g": 4.0,
        "planes": (CorrectionPlane(name="front", radius_mm=70.0), CorrectionPlane(name="rear", radius_mm=80.0)),
        "tolerance": Tolerance(shop_limit_g=1.0),
    }
    return JobSpec.model_validate(values | changes)


ids = Ids()


def draft(payload: e.AnyPayload, *, job: str = "2031-0001", by: str = "AB", **more: object) -> e.Draft:
    return e.Draft.model_validate({"id": ids(), "job": job, "by": by, "payload": payload} | more)


def opening(number: str = "2031-0001", **changes: object) -> e.Draft:
    return draft(e.JobOpened(number=number, spec=small_spec(**changes)), job=number, how="typed")


def weight(
    grams: str = "412.3", *, kind: str = "piston", place: int = 1, job: str = "2031-0001", **more: object
) -> e.Draft:
    taken = {
        "cell": Cell(kind=kind, place=place),
        "shown": Decimal(grams),
        "unit": "g",
        "grams": Decimal(grams),
        "refined_g": float(grams),
        "standard_uncertainty_g": 0.05,
        "instrument": "simulated scale",
    }
    return draft(e.WeightTaken.model_validate(taken | more), job=job, raw=(f"+{grams} g S", f"+{grams} g S"))


def run(number: int, *amounts: float, job: str = "2031-0001", planes: tuple[str, ...] = ("front", "rear")) -> e.Draft:
    shown = tuple(
        e.PlaneShown(
            plane=plane,
            shown_amount=Decimal(str(amount)),
            shown_angle=Decimal("30.0"),
            amount_g=amount,
            heavy_angle_deg=30.0,
        )
        for plane, amount in zip(planes, amounts, strict=True)
    )
    return draft(e.SpinRun(number=number, planes=shown, unit="g", source_sha256="a" * 64), job=job)


def one_of_each(job: str = "2031-0001") -> list[e.Draft]:
    """A draft of every kind there is."""
    first = weight("412.30", job=job)
    built = draft(
        e.BobweightBuilt(
            throw=1, shown=Decimal("1205.4"), unit="g", grams=Decimal("1205.4"), target_g=1205.38,
            standard_uncertainty_g=0.1,
        ),
        job=job,
    )  # fmt: skip
    spin = run(1, 4.25, 3.5, job=job)
    cut = draft(e.CutMade(plane="front", angle_deg=30.0, grams=4.0, diameter_mm=10.0, depth_mm=8.2), job=job)
    return [
        opening(job),
        draft(e.ScaleChecked(nominal_g=Decimal(500), shown_g=Decimal("500.1"), allowed_g=0.2, passed=True), job=job),
        first,
        draft(e.WeightWithdrawn(withdraws=first.id, reason="wrong part"), job=job),
        draft(e.CellSkipped(cell=Cell(kind="piston", place=2)), job=job),
        built,
        spin,
        cut,
        draft(e.CutWithdrawn(withdraws=cut.id, reason="not made"), job=job),
        draft(e.SpinWithdrawn(withdraws=spin.id, reason="coupling loose"), job=job),
        draft(e.NoteWritten(text="keyway \x1b[2J worn; [b]not markup[/b] =1+1 <b>ß</b>"), job=job, how="typed"),
        draft(
            e.JobSignedOff(deburred=True, cleaned=True, within_tolerance=False, words="customer asked"), job=job
        ),
        draft(e.JobReopened(reason="came back"), job=job),
        draft(e.CertificateIssued(file_name="c.html", sha256="b" * 64, length=3, head="c" * 64), job=job),
        draft(e.LinkChanged(instrument="scale", state="gone", detail="cable"), job=job),
        draft(e.ClockStepped(by_seconds=-3600.5), job=""),
        draft(e.FileAttached(file_name="photo.jpg", sha256="d" * 64, size=12), job=job),
        draft(e.JobBroughtIn(from_bench="north", number="2030-0009", events=40, sha256="e" * 64), job=""),
        draft(k.GapFound(entries=2, first_seq=7, last_seq=9, head="a" * 64, words="piston 1: 412.3 g"), job=job),
        draft(k.KeyShown(public="b" * 64, reason="the first"), job=""),
        draft(k.UncleanEndSeen(last_seq=7, last_utc="2031-05-07T10:00:00.000000Z", by_what="key"), job=""),
        draft(k.RecordSigned(length=3, head="c" * 64, public="b" * 64, signature="d" * 128), job=job),
        draft(e.JobAmended(spec=small_spec(serial="SK-0471"), changed=("serial",), reason="misread plate"), job=job),
        draft(e.StationsEntered(stations=SOME_STATIONS), job=job),
        draft(e.RebuildBegun(of_number="2029-0003", of_seq=88, crank_radius_mm=42.0), job=job),
        draft(e.JobTakenOver(from_bench="north", number="2030-0009", events=40, sha256="f" * 64, reason="spun here"), job=job),
        draft(e.RouteChosen(route="cylinder"), job=job),
        draft(e.TemperatureNoted(celsius=21.5), job=job, how="typed"),
        draft(sp.RunIndexed(spin=spin.id, against="an earlier run", turned_deg=180.0), job=job, how="typed"),
        draft(sp.AnglesChecked(
            instrument="machine B", plane="front", mass_g=10.0, at_deg=(0.0, 90.0), runs=("a", "b", "c"), agrees=False,
            turned_by_deg=35.0, mirrored=True, share_shown=1.02, far_share=0.1, misfit_g=0.2, words="the other way round",
        ), job=job, how="typed"),
        draft(sp.PartsMounted(mounted=("flywheel", "damper")), job=job, how="typed"),
        draft(sp.RotorBegun(rotor=SOME_FLYWHEEL, inside=True), job=job, how="typed"),
        draft(sp.RotorWithdrawn(withdraws="an earlier entry", reason="too early"), job=job, how="typed"),
        draft(e.JobHandedOver(to_bench="north", reason="spun there"), job=job),
    ]  # fmt: skip


def record(path: Path, clock: SetClock | None = None, *, read_only: bool = False, bench: str = "south") -> SqliteTrail:
    return open_record(path, bench=bench, clock=clock or SetClock(), app_version="0.1.0", read_only=read_only)

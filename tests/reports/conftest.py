"""A whole job of the demo's world, built as values: no trail, no clock, no review code of the program."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal

import pytest

from bench.computation.unbalance import PlaneVerdict
from bench.models.job import Cell, JobSpec
from bench.models.job_state import (
    BobweightMade,
    Cut,
    Entry,
    JobState,
    PlaneAmount,
    ScaleCheck,
    SignedOff,
    Spin,
    Weighed,
)
from bench.trail.contract import Checkpoint
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.view import PlaneLine, Review, SetLine, Step, SumLine, ThrowLine

GRAMS = {
    "piston": "603.7",
    "pin": "188.5",
    "rings": "30.1",
    "locks": "2.9",
    "rod_whole": "818.2",
    "rod_small_end": "250.0",
    "rod_bearings": "100.2",
}


@dataclass(frozen=True)
class Sample:
    """What a certificate is made from."""

    state: JobState
    review: Review
    checkpoint: Checkpoint


def entry(seq: int, *, how: str = "simulated", by: str = "MK") -> Entry:
    return Entry(
        event_id=f"0190{seq:08x}",
        seq=seq,
        by=by,
        how=how,
        utc=f"2026-03-{1 + seq % 27:02d}T09:{seq % 60:02d}:12.000001Z",
    )


def sum_lines(cylinders: tuple[int, ...]) -> Iterator[SumLine]:
    for c in cylinders:
        yield SumLine(f"piston, cylinder {c}", 603.7, 0.5, 301.85)
        yield SumLine(f"pin, cylinder {c}", 188.5, 0.5, 94.25)
        yield SumLine(f"rings, cylinder {c}", 30.1, 0.5, 15.05)
        yield SumLine(f"locks, cylinder {c}", 2.9, 0.5, 1.45)
        yield SumLine(f"rod small end, cylinder {c}", 250.0, 0.5, 125.0)
        yield SumLine(f"rod big end (whole less small end), cylinder {c}", 568.2, 1.0, 568.2)
    yield SumLine("rod bearings", 100.2, 1.0, 100.2)
    yield SumLine("oil", 6.0, 1.0, 6.0)


def build(
    spec: JobSpec | None = None, *, text: str = "", spins: int = 5, cuts: int = 6, finished: bool = True
) -> Sample:
    """Return the sample; `text` stands wherever a person or an instrument may write."""
    spec = spec or demo_spec()
    if text:
        spec = spec.model_copy(
            update={"title": text[:40] or "x", "customer": text, "engine": text, "serial": text, "notes": text}
        )
    weighed: dict[Cell, Weighed] = {}
    sets: list[SetLine] = []
    for kind in spec.kinds:
        places = spec.layout.cylinders if kind.per == "cylinder" else tuple(t.number for t in spec.layout.throws)
        values = [
            Decimal(GRAMS[kind.name]) + (Decimal("1.6") if (kind.name, p) == ("piston", 3) else 0) for p in places
        ]
        for place, value in zip(places, values, strict=True):
            weighed[Cell(kind=kind.name, place=place)] = Weighed(
                entry=entry(len(weighed) + 2, how="typed" if (kind.name, place) == ("pin", 5) else "simulated"),
                grams=value,
                shown=value,
                unit="g",
                standard_uncertainty_g=0.03,
                reason=(text or "scale was away") if (kind.name, place) == ("pin", 5) else "",
                earlier=(Decimal("605.9"),) if (kind.name, place) == ("piston", 3) else (),
            )
        lightest = min(values)
        out = tuple(kind.limit_g is not None and float(v - lightest) > kind.limit_g for v in values)
        sets.append(
            SetLine(
                kind=kind.name,
                label=kind.label,
                places=places,
                grams=tuple(values),
                spread_g=float(max(values) - lightest),
                limit_g=kind.limit_g,
                take_off_g=tuple(float(v - lightest) for v in values),
                out=out,
                marks=tuple("out of set" if o else "taken" for o in out),
            )
        )
    throws = tuple(
        ThrowLine(
            throw=throw.number,
            target_g=2317.8,
            standard_uncertainty_g=0.12,
            lines=tuple(sum_lines(throw.cylinders)),
            missing=(),
            made_g=Decimal("2317.8"),
            off_g=0.04,
            within=True,
        )
        for throw in spec.layout.throws
    )
    amounts = {"front": (70.2, 214.0), "rear": (40.9, 31.0), "rim": (25.0, 80.0)}
    runs = tuple(
        Spin(
            entry=entry(60 + n),
            number=n + 1,
            planes=tuple(
                PlaneAmount(p.name, amounts[p.name][0] * 0.28**n + 0.3, (amounts[p.name][1] + 37 * n) % 360)
                for p in spec.planes
            ),
            label=text or f"run {n + 1}",
            speed_rpm=500.0,
            source_sha256="0" * 64,
            after_cuts=min(2 * n, cuts),
        )
        for n in range(spins)
    )
    made_cuts = tuple(
        Cut(
            entry=entry(70 + n),
            plane=spec.planes[n % len(spec.planes)].name,
            angle_deg=34.0 + 20 * n,
            grams=20.0 / (n + 1),
            station=text or "first counterweight",
            diameter_mm=12.0,
            depth_mm=18.4,
        )
        for n in range(cuts)
    )
    state = JobState(
        number="2026-0001",
        spec=spec,
        opened=entry(1),
        weighed=weighed,
        bobweights={
            t.throw: BobweightMade(entry(56 + t.throw), t.throw, Decimal("2317.8"), 2317.8, 0.12) for t in throws
        },
        spins=runs,
        cuts=made_cuts,
        scale_checks=(ScaleCheck(entry(2), Decimal("500.0"), Decimal("500.1"), 0.2, passed=True),),
        signed_off=SignedOff(entry(90), deburred=True, cleaned=True, within_tolerance=True, words=text)
        if finished
        else None,
        notes=((entry(91), text or "keys and plugs in place"),),
        last_seq=91,
    )
    verdict = PlaneVerdict.INSIDE if finished else PlaneVerdict.UNKNOWN
    review = Review(
        step=Step.DONE,
        next_cell=None,
        sets=tuple(sets),
        throws=throws,
        bobweight_mean_g=2317.8,
        bobweight_spread_g=0.1,
        planes=tuple(
            PlaneLine(
                plane=p.name,
                amount_g=runs[-1].planes[i].amount_g if runs else None,
                angle_deg=runs[-1].planes[i].angle_deg if runs else None,
                limit_g=1.0,
                limit_words="shop limit of the job",
                verdict=verdict,
                words=f"{p.name} as the last run shows it: {verdict.value}",
            )
            for i, p in enumerate(spec.planes)
        ),
        whole_verdict=verdict,
        percent_figure=99.962 if throws else None,
        warnings=(text,) if text else (),
    )
    return Sample(state, review, Checkpoint(bench=text[:40] or "skerry-1", length=91, head="0123456789abcdef" * 4))


@pytest.fixture
def sample() -> Sample:
    return build()


@pytest.fixture
def make() -> Callable[..., Sample]:
    return build

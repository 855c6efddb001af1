"""A job as one JSON document with a published schema: state, figures, checkpoint and, if wanted, the events."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from decimal import Decimal
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, JsonValue

from bench.models.job import JobSpec
from bench.models.job_state import Entry, JobState
from bench.models.rotor_set import as_it_stood
from bench.trail.contract import Checkpoint
from bench.use_cases.rotor_lines import rotor_lines, set_total
from bench.use_cases.view import PlaneLine, Review


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class By(_Part):
    """Where a fact stands in the trail, and who and what recorded it."""

    event: str
    seq: int
    by: str
    how: str
    utc: str


class WeightPart(_Part):
    """A weight as it counts, as it was shown and as it was before."""

    kind: str
    place: int
    grams: Decimal
    shown: Decimal
    unit: str
    standard_uncertainty_g: float
    doubtful: bool
    reason: str
    earlier_g: tuple[Decimal, ...]
    recorded: By


class BobweightPart(_Part):
    """A throw's bobweight: target and as made, null where there is none yet."""

    throw: int
    target_g: float | None
    standard_uncertainty_g: float | None
    made_g: Decimal | None
    off_g: float | None
    within: bool


class PlanePart(_Part):
    """Excess mass of one plane at its correction radius; counter-clockwise positive from the front."""

    plane: str
    amount_g: float
    angle_deg: float


class RunPart(_Part):
    """One run of the balancing machine."""

    number: int
    planes: tuple[PlanePart, ...]
    label: str
    speed_rpm: float | None
    source_sha256: str
    after_cuts: int
    mounted: tuple[str, ...] | None = None
    recorded: By


class CutPart(_Part):
    """Metal taken away; negative grams were added."""

    plane: str
    angle_deg: float
    grams: float
    station: str
    diameter_mm: float | None
    depth_mm: float | None
    chips_g: float | None = None
    recorded: By


class VerdictPart(_Part):
    """What the last run says of a plane; null where there is none."""

    plane: str
    amount_g: float | None
    angle_deg: float | None
    limit_g: float
    limit_words: str
    verdict: Literal["inside", "too close to call", "outside", "unknown"]


class RotorPart(_Part):
    """One rotor of a set; those that are to come have no verdicts, runs and cuts."""

    name: str
    where: str
    frozen: bool
    verdicts: tuple[VerdictPart, ...]
    whole_verdict: Literal["inside", "too close to call", "outside", "unknown"]
    runs: tuple[RunPart, ...]
    cuts: tuple[CutPart, ...]
    words: str


class TotalPart(_Part):
    """What a set adds up to in one of the crank's planes: fitted mark to mark, and at worst."""

    plane: str
    amount_g: float
    angle_deg: float
    at_worst_g: float


class ScaleCheckPart(_Part):
    """A known weight on the scale."""

    nominal_g: Decimal
    shown_g: Decimal
    allowed_g: float
    passed: bool
    recorded: By


class SignOffPart(_Part):
    """Who declared the job done, and what was confirmed."""

    deburred: bool
    cleaned: bool
    within_tolerance: bool
    words: str
    recorded: By


class NotePart(_Part):
    """What a person wrote down."""

    text: str
    recorded: By


class CheckpointPart(_Part):
    """How far the trail had come."""

    bench: str
    length: int = Field(ge=0)
    head: str


class JobDocument(_Part):
    """The whole document. Weights are decimal strings, because their decimals are the scale's resolution.

    `runs`, `cuts` and `verdicts` are those of the rotor that is balanced now; `rotors` has every rotor of a set.
    Events stand as they were stored, of whatever version, each with its hash, and attachments by their hash in base64:
    another bench takes the job in from them, and proves each; the figures above are for people and other programs.
    """

    format: Literal["spinledger-job"] = "spinledger-job"
    version: Literal[1] = 1
    app_version: str
    bench: str
    number: str
    spec: JobSpec
    opened: By
    weights: tuple[WeightPart, ...]
    bobweights: tuple[BobweightPart, ...]
    runs: tuple[RunPart, ...]
    cuts: tuple[CutPart, ...]
    verdicts: tuple[VerdictPart, ...]
    whole_verdict: Literal["inside", "too close to call", "outside", "unknown"]
    scale_checks: tuple[ScaleCheckPart, ...]
    signed_off: SignOffPart | None
    notes: tuple[NotePart, ...]
    checkpoint: CheckpointPart
    mounted: tuple[str, ...] | None = None
    rotors: tuple[RotorPart, ...] = ()
    total: tuple[TotalPart, ...] = ()
    events: tuple[dict[str, JsonValue], ...] = ()
    files: dict[str, str] = {}


def job_document(
    *,
    state: JobState,
    review: Review,
    checkpoint: Checkpoint,
    app_version: str,
    events: Iterable[Mapping[str, JsonValue]] = (),
    files: Mapping[str, str] | None = None,
) -> JobDocument:
    """Return a job as a document.

    Parameters
    ----------
    state : JobState
        The job.
    review : Review
        The job, computed.
    checkpoint : Checkpoint
        How far the trail had come.
    app_version : str
        Version of the program.
    events : Iterable[Mapping[str, JsonValue]]
        The job's events as stored, with their hashes, where the document is to be taken in by another bench.
    files : Mapping[str, str] | None
        Its attachments in base64, by their hash.

    Returns
    -------
    JobDocument
        Validated: a number that is not finite is refused with pydantic's ValidationError.
    """
    return JobDocument(
        app_version=app_version,
        bench=checkpoint.bench,
        number=state.number,
        spec=state.spec,
        opened=_by(state.opened),
        weights=tuple(
            WeightPart(
                kind=cell.kind,
                place=cell.place,
                grams=w.grams,
                shown=w.shown,
                unit=w.unit,
                standard_uncertainty_g=w.standard_uncertainty_g,
                doubtful=w.doubtful,
                reason=w.reason,
                earlier_g=w.earlier,
                recorded=_by(w.entry),
            )
            for cell, w in state.weighed.items()
        ),
        bobweights=tuple(
            BobweightPart(
                throw=t.throw,
                target_g=t.target_g,
                standard_uncertainty_g=t.standard_uncertainty_g,
                made_g=t.made_g,
                off_g=t.off_g,
                within=t.within,
            )
            for t in review.throws
        ),
        runs=_runs(state),
        cuts=_cuts(state),
        verdicts=_verdicts(review.planes),
        whole_verdict=review.whole_verdict.value,
        scale_checks=tuple(
            ScaleCheckPart(
                nominal_g=c.nominal_g, shown_g=c.shown_g, allowed_g=c.allowed_g, passed=c.passed, recorded=_by(c.entry)
            )
            for c in state.scale_checks
        ),
        signed_off=_signed(state),
        notes=tuple(NotePart(text=text, recorded=_by(entry)) for entry, text in state.notes),
        checkpoint=CheckpointPart(bench=checkpoint.bench, length=checkpoint.length, head=checkpoint.head),
        mounted=state.mounted,
        rotors=_rotors(state),
        total=tuple(TotalPart(**asdict(one)) for one in set_total(state)),
        events=tuple(dict(event) for event in events),
        files=dict(files or {}),
    )


def _by(entry: Entry) -> By:
    return By(event=entry.event_id, seq=entry.seq, by=entry.by, how=entry.how, utc=entry.utc)


def _runs(state: JobState) -> tuple[RunPart, ...]:
    return tuple(
        RunPart(
            number=s.number,
            planes=tuple(PlanePart(plane=p.plane, amount_g=p.amount_g, angle_deg=p.angle_deg) for p in s.planes),
            label=s.label,
            speed_rpm=s.speed_rpm,
            source_sha256=s.source_sha256,
            after_cuts=s.after_cuts,
            mounted=s.mounted,
            recorded=_by(s.entry),
        )
        for s in state.spins
    )


def _cuts(state: JobState) -> tuple[CutPart, ...]:
    return tuple(
        CutPart(
            plane=c.plane,
            angle_deg=c.angle_deg,
            grams=c.grams,
            station=c.station,
            diameter_mm=c.diameter_mm,
            depth_mm=c.depth_mm,
            chips_g=c.chips_g,
            recorded=_by(c.entry),
        )
        for c in state.cuts
    )


def _verdicts(planes: tuple[PlaneLine, ...]) -> tuple[VerdictPart, ...]:
    return tuple(
        VerdictPart(
            plane=p.plane,
            amount_g=p.amount_g,
            angle_deg=p.angle_deg,
            limit_g=p.limit_g,
            limit_words=p.limit_words,
            verdict=p.verdict.value,
        )
        for p in planes
    )


def _rotors(state: JobState) -> tuple[RotorPart, ...]:
    stood = [*(as_it_stood(state, done) for done in state.rotors_done), state]
    parts: list[RotorPart] = []
    for index, line in enumerate(rotor_lines(state)):
        then = stood[index] if index < len(stood) else None
        parts.append(
            RotorPart(
                name=line.name,
                where=line.where,
                frozen=line.frozen,
                verdicts=_verdicts(line.planes),
                whole_verdict=line.verdict.value,
                runs=() if then is None else _runs(then),
                cuts=() if then is None else _cuts(then),
                words=line.words,
            )
        )
    return tuple(parts)


def _signed(state: JobState) -> SignOffPart | None:
    done = state.signed_off
    if done is None:
        return None
    return SignOffPart(
        deburred=done.deburred,
        cleaned=done.cleaned,
        within_tolerance=done.within_tolerance,
        words=done.words,
        recorded=_by(done.entry),
    )


def job_json(document: JobDocument) -> str:
    """Return the document as JSON text.

    Parameters
    ----------
    document : JobDocument
        The job.

    Returns
    -------
    str
        Indented, ASCII only (so that half characters survive as escapes), ended with a line end.
    """
    return json.dumps(document.model_dump(mode="json"), indent=1, allow_nan=False) + "\n"


def job_schema() -> dict[str, Any]:
    """Return the JSON schema of the document, as published in the package's schema folder.

    Returns
    -------
    dict[str, Any]
        JSON Schema, draft 2020-12.
    """
    schema = JobDocument.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "spinledger job, version 1"} | {
        key: value for key, value in schema.items() if key != "title"
    }

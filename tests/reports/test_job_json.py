"""The published document of a job, its form on paper and its labels."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

import bench.reports
from bench.models.job import Cell, cells_in_order
from bench.reports.job_json import JobDocument, job_document, job_json, job_schema
from bench.reports.paper_form import paper_form
from bench.reports.part_labels import part_labels
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.part_code import PartCodeError, parse_part_code, part_code


def document(sample: Any, **changes: Any) -> JobDocument:
    given = {"state": sample.state, "review": sample.review, "checkpoint": sample.checkpoint, "app_version": "0.1.0"}
    return job_document(**(given | changes))


def test_the_published_schema_is_the_documents_own() -> None:
    file = Path(bench.reports.__file__).parent / "schema" / "job.schema.json"
    assert json.loads(file.read_text(encoding="utf-8")) == job_schema()


def test_a_document_reads_back_the_same(sample: Any) -> None:
    told = document(sample)
    text = job_json(told)
    assert JobDocument.model_validate_json(text) == told
    held = json.loads(text)
    assert held["format"] == "spinledger-job"
    optional = {"format", "version", "events", "files", "mounted", "rotors", "total"}
    assert set(held) == set(job_schema()["required"]) | optional
    piston = next(w for w in held["weights"] if (w["kind"], w["place"]) == ("piston", 3))
    assert (piston["grams"], piston["earlier_g"]) == ("605.3", ["605.9"])
    assert held["whole_verdict"] == "inside"
    assert held["signed_off"]["deburred"] is True


def test_an_open_job_has_nulls_not_guesses(make: Any) -> None:
    held = json.loads(job_json(document(make(spins=0, cuts=0, finished=False))))
    assert held["signed_off"] is None
    assert held["verdicts"][0]["amount_g"] is None
    assert held["whole_verdict"] == "unknown"


def test_what_is_no_number_is_refused(sample: Any) -> None:
    cut = replace(sample.state.cuts[0], grams=math.nan)
    with pytest.raises(ValidationError, match="grams"):
        document(sample, state=replace(sample.state, cuts=(cut,)))


def test_events_and_files_travel_as_they_are_stored(sample: Any) -> None:
    told = {"seq": 7, "payload": {"kind": "note-written", "text": "keys in place"}, "hash": "a" * 64, "raw": ["\\xff"]}
    text = job_json(document(sample, events=[told], files={"b" * 64: "cGhvdG8="}))
    held = JobDocument.model_validate_json(text)
    assert list(held.events) == [told]
    assert held.files == {"b" * 64: "cGhvdG8="}
    assert held.bench == "skerry-1"


def test_decimals_of_the_scale_survive(sample: Any) -> None:
    cell = Cell(kind="piston", place=1)
    weighed = {**sample.state.weighed, cell: replace(sample.state.weighed[cell], grams=Decimal("603.70"))}
    assert '"grams": "603.70"' in job_json(document(sample, state=replace(sample.state, weighed=weighed)))


def test_the_form_has_a_place_for_every_weighing() -> None:
    spec = demo_spec()
    page = paper_form(number="2026-0001", spec=spec, app_version="0.1.0")
    places = len(cells_in_order(spec))
    bobweights, runs, cuts = 2 * 4, 6 * (1 + 2 * 2 + 1), 8 * 6
    assert page.count("<td") == places + bobweights + runs + cuts
    assert "both locks of one pin together" in page
    assert "Guard closed" in page
    assert "Eye protection on" in page
    assert "SIMULATED" in page
    assert "____________" in paper_form(number="", spec=spec, app_version="0.1.0")


def test_every_cell_has_a_label_that_names_it() -> None:
    spec = demo_spec()
    page = part_labels(number="2026-0001", spec=spec)
    assert page.count("<svg") == len(cells_in_order(spec)) == 52
    for cell in cells_in_order(spec):
        assert parse_part_code(part_code(job="2026-0001", cell=cell) + "\n") == ("2026-0001", cell)


@pytest.mark.parametrize(
    "line",
    [
        "",
        "603.7",
        "spinledger-part:1:2026-0001:0:piston",
        "spinledger-part:1:2026-0001:65:piston",
        "spinledger-part:2:a:1:b",
    ],
)
def test_a_foreign_code_names_no_part(line: str) -> None:
    with pytest.raises(PartCodeError, match="wanted spinledger-part:1:JOB:PLACE:KIND"):
        parse_part_code(line)

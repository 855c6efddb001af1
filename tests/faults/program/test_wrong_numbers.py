"""A weight that is off by a digit, a unit or a part is told before anything is computed; what is no number never passes."""

from __future__ import annotations

import io
import random
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest

from bench.models.job import Cell, cells_in_order
from bench.models.job_state import JobState
from bench.reports.sheet_reading import read_sheet
from bench.screens.safe_text import plain
from bench.trail.clock import SystemClock
from bench.trail.events import WeightTaken
from bench.trail.identifiers import new_id
from bench.trail.memory import MemoryTrail
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.errors import RefusedError
from bench.use_cases.open_job import open_job
from bench.use_cases.review_job import review_job
from bench.use_cases.scribe import Scribe
from bench.use_cases.take_weight import type_weight

GRAMS = {"piston": "603.7", "pin": "188.5", "rings": "30.1", "locks": "2.9", "rod_whole": "818.2",
         "rod_small_end": "250.0", "rod_bearings": "100.2"}  # fmt: skip


def weighed(changed: dict[Cell, Decimal]) -> JobState:
    scribe = Scribe(MemoryTrail(bench="south", clock=SystemClock()), new_id=new_id)
    open_job(scribe, demo_spec(), year=2031)
    assert scribe.state is not None
    payloads = []
    for cell in cells_in_order(scribe.state.spec):
        grams = changed.get(cell, Decimal(GRAMS[cell.kind]))
        payloads.append(
            WeightTaken(
                cell=cell, shown=grams, unit="g", grams=grams, refined_g=float(grams), standard_uncertainty_g=0.03
            )
        )
    scribe.record(payloads)
    return scribe.state


def one_of_each_kind() -> list[Cell]:
    kinds = demo_spec().kinds
    return [Cell(kind=kind.name, place=1 + n % (4 if kind.per == "throw" else 8)) for n, kind in enumerate(kinds)]


@pytest.mark.parametrize("factor", ["10", "0.1", "1000", "0.001", "28.35", "0.035274", "2", "0.5", "453.6"])
def test_every_part_off_by_a_digit_or_a_unit_is_told(factor: str) -> None:
    for cell in one_of_each_kind():
        wrong = (Decimal(GRAMS[cell.kind]) * Decimal(factor)).quantize(Decimal("0.001"))
        state = weighed({cell: wrong})
        told = [words for words in review_job(state).warnings if "the wrong part?" in words]
        assert len(told) == 1, cell
        assert f" {cell.place}: {wrong} g" in told[0]
        assert state.weighed[cell].grams == wrong  # told, never put right by itself


def test_another_parts_weight_is_told() -> None:
    for cell in one_of_each_kind():
        for other, grams in GRAMS.items():
            if not 0.5 < float(grams) / float(GRAMS[cell.kind]) < 2:
                told = review_job(weighed({cell: Decimal(grams)})).warnings
                assert any("the wrong part?" in words for words in told), (cell, other)


@pytest.mark.parametrize("typed", ["NaN", "Infinity", "-Infinity", "0", "-603.7", "20000.1", "1e400", "sNaN"])
def test_what_is_no_weight_is_not_taken(typed: str) -> None:
    scribe = Scribe(MemoryTrail(bench="south", clock=SystemClock()), new_id=new_id)
    open_job(scribe, demo_spec(), year=2031)
    with pytest.raises(RefusedError):
        type_weight(scribe, cell=Cell(kind="piston", place=1), grams=Decimal(typed), reason="x")
    assert scribe.trail.checkpoint().length == 1


def test_ten_thousand_bracket_strings_are_shown_as_they_are() -> None:
    dice = random.Random(20)
    pieces = [
        "[",
        "]",
        "[/",
        "[b",
        "[/b]",
        "[@click=app.quit]",
        "[link=x]",
        "[$primary]",
        "\\[",
        "\\",
        "+",
        " ",
        "a",
        "=",
        "[red on",
    ]
    for _ in range(10_000):
        text = "".join(dice.choice(pieces) for _ in range(dice.randrange(1, 12)))
        content = plain(text)
        assert content.plain == text
        assert not [span for span in content.spans if "@click" in str(span.style)]


def bomb(name: str, size: int) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as folder:
        folder.writestr(name, b"0" * size)
    return held.getvalue()


@pytest.mark.parametrize("name", ["xl/worksheets/sheet1.xml", "../../evil", "/etc/evil", "a/" * 200 + "x"])
def test_a_spreadsheet_that_unpacks_to_far_more_is_refused(tmp_path: Path, name: str) -> None:
    path = tmp_path / "w.xlsx"
    path.write_bytes(bomb(name, 60_000_000))
    with pytest.raises(RefusedError):
        read_sheet(path)
    many = io.BytesIO()
    with zipfile.ZipFile(many, "w") as folder:
        for n in range(3000):
            folder.writestr(f"f{n}", b"")
    path.write_bytes(many.getvalue())
    with pytest.raises(RefusedError):
        read_sheet(path)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["w.xlsx"]


def test_a_verdict_without_a_number_is_unknown() -> None:
    from bench.computation.unbalance import PlaneVerdict, whole_verdict

    state = weighed({})
    review = review_job(state)
    assert review.whole_verdict is PlaneVerdict.UNKNOWN
    assert all(line.verdict is PlaneVerdict.UNKNOWN for line in review.planes)
    assert whole_verdict(()) is not PlaneVerdict.INSIDE

"""Tables that leave the record: numbers stay numbers, text stays text, nothing calculates."""

from __future__ import annotations

import csv
import importlib.util
import io
import re
import zipfile
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from bench.reports.sheet_csv import inert, sheet_csv
from bench.reports.spreadsheet import spreadsheet
from bench.reports.tables import Table, job_tables

_FOUND = importlib.util.spec_from_file_location("hostile_texts", Path(__file__).with_name("hostile_texts.py"))
assert _FOUND is not None
assert _FOUND.loader is not None
hostile = importlib.util.module_from_spec(_FOUND)
_FOUND.loader.exec_module(hostile)

WRITTEN = datetime(2026, 3, 20, tzinfo=UTC)
SIGNS = tuple("=+-@＝＋－＠−\t\r")
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e-?[0-9]+)?")


def formulas(text: str) -> list[str]:
    """Cells a careless spreadsheet would calculate: split at any usual separator, with and without quotes."""
    found = []
    for separator, quoting in ((s, q) for s in ",;\t|" for q in (csv.QUOTE_MINIMAL, csv.QUOTE_NONE)):
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator, quoting=quoting):
            for cell in row:
                bare = cell.strip(' \u00a0"' if quoting == csv.QUOTE_NONE else " \u00a0")
                if bare.startswith(SIGNS) and not NUMBER.fullmatch(bare):
                    found.append(cell)
    return found


def test_the_judge_sees_formulas() -> None:
    assert formulas("a,=1+1\r\n") != []
    assert formulas('"a;=1+1"\r\n') != []
    assert formulas("a,-12.3\r\n") == []


def test_the_corpus_is_large_enough() -> None:
    assert len(set(hostile.FORMULAS)) >= 200


def test_no_text_of_the_corpus_is_a_formula_in_csv() -> None:
    for text in hostile.FORMULAS:
        for table in (
            Table("x", ("a", "b", "c"), (("front", text, Decimal("-12.3")),)),
            Table("x", (text,), ((text,),)),
        ):
            assert formulas(sheet_csv(table)) == [], text


@given(st.text(st.characters(codec=None), max_size=30))
def test_no_text_at_all_is_a_formula_in_csv(text: str) -> None:
    out = sheet_csv(Table("x", ("a", "b"), ((text, 1.5),)))
    assert formulas(out) == []
    out.encode("utf-8")
    assert len(out.splitlines()) == 2
    rows = list(csv.reader(io.StringIO(out, newline="")))
    assert rows[1] == [inert(text), "1.5"]


def test_ordinary_words_stay_as_they_are() -> None:
    for text in ("rod 3, big end", "V8 90 degrees", "first counterweight - left", "Skerry Sound", "a=b", ""):
        assert inert(text) == text


def test_numbers_stay_numbers_and_nothing_stays_empty() -> None:
    values = (Decimal("603.70"), Decimal("-12.3"), -12.3, 1e-9, 4, None, float("nan"), Decimal("Infinity"))
    out = sheet_csv(Table("x", ("a",) * 8, (values,)))
    assert out.splitlines()[1] == '603.70,-12.3,-12.3,1e-09,4,,"not a number","not a number"'


def test_a_job_reads_back_from_its_csv(sample: Any) -> None:
    tables = {table.name: table for table in job_tables(sample.state, sample.review)}
    assert list(tables) == ["job", "weights", "bobweights", "runs", "cuts", "verdict"]
    rows = list(csv.DictReader(io.StringIO(sheet_csv(tables["weights"]), newline="")))
    assert len(rows) == 6 * 8 + 4
    piston = next(row for row in rows if (row["part"], row["place"]) == ("piston", "3"))
    assert (piston["grams"], piston["out of set"], piston["earlier grams"]) == ("605.3", "yes", "605.9")
    assert sum(row["how"] == "typed" for row in rows) == 1
    runs = list(csv.DictReader(io.StringIO(sheet_csv(tables["runs"]), newline="")))
    assert len(runs) == 10
    assert float(runs[0]["grams at radius"]) == pytest.approx(70.5)
    assert all(len(row) == len(table.headings) for table in tables.values() for row in table.rows)


def test_an_unfinished_job_has_tables_too(make: Any) -> None:
    sample = make(spins=0, cuts=0, finished=False)
    throws = (
        replace(sample.review.throws[0], lines=(), target_g=None, missing=("piston 1",), made_g=None, off_g=None),
    )
    tables = job_tables(sample.state, replace(sample.review, throws=throws))
    assert ("signed off utc", None) in tables[0].rows
    assert all(sheet_csv(table) for table in tables)


def test_no_text_of_the_corpus_is_a_formula_in_a_workbook() -> None:
    rows = tuple((text, Decimal("-12.3"), None) for text in (*hostile.FORMULAS, *hostile.MARKUP, "#N/A", "TRUE", "1e5"))
    data = spreadsheet([Table("parts", ("part", "grams", "nothing"), rows)], written=WRITTEN)
    with zipfile.ZipFile(io.BytesIO(data)) as held:
        sheet = held.read("xl/worksheets/sheet1.xml").decode()
        assert not re.search(r"<f[ >/]", sheet)
        assert not any("external" in name.lower() or "vba" in name.lower() for name in held.namelist())
    read = load_workbook(io.BytesIO(data))["parts"]
    kinds = {(row[0].data_type, row[0].quotePrefix, row[1].data_type) for row in read.iter_rows(min_row=2)}
    assert kinds == {("s", True, "n")}
    assert read["B2"].value == -12.3
    assert read.max_row == len(rows) + 1


def test_a_job_is_a_workbook_of_six_sheets(sample: Any) -> None:
    data = spreadsheet(job_tables(sample.state, sample.review), written=WRITTEN)
    book = load_workbook(io.BytesIO(data))
    assert book.sheetnames == ["job", "weights", "bobweights", "runs", "cuts", "verdict"]
    assert book["weights"]["C4"].value == 605.3
    assert book["weights"].freeze_panes == "A2"
    assert book.properties.creator == "spinledger"
    broken = spreadsheet([Table("x", ("a",), ((float("inf"),),))], written=WRITTEN)
    assert load_workbook(io.BytesIO(broken))["x"]["A2"].value == "not a number"

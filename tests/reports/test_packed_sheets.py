"""A spreadsheet is a packed file: what no spreadsheet program packs is refused before anything is unpacked."""

from __future__ import annotations

import io
import random
import struct
import tracemalloc
import zipfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import openpyxl
import pytest

from bench.reports import sheet_reading
from bench.reports.sheet_reading import read_sheet
from bench.use_cases.errors import RefusedError

SHEET = "xl/worksheets/sheet1.xml"


def good() -> bytes:
    book = openpyxl.Workbook()
    book.active.append(["part", "g"])  # type: ignore[union-attr]
    book.active.append(["piston 1", 603.7])  # type: ignore[union-attr]
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def repacked(change: Callable[[zipfile.ZipFile], None], *, without: str = "") -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(good())) as old, zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            if entry.filename != without:
                new.writestr(entry, old.read(entry))
        change(new)
    return kept.getvalue()


def encrypted(data: bytes) -> bytes:
    """Set the flag of every entry, in its own head and in the list at the end."""
    changed = bytearray(data)
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = changed.find(mark)
        while place >= 0:
            changed[place + at] |= 1
            place = changed.find(mark, place + 4)
    return bytes(changed)


def link(folder: zipfile.ZipFile) -> None:
    entry = zipfile.ZipInfo("xl/media/x")
    entry.external_attr = 0o120777 << 16
    folder.writestr(entry, "/etc/passwd")


def many(count: int) -> Callable[[zipfile.ZipFile], None]:
    def add(folder: zipfile.ZipFile) -> None:
        for n in range(count):
            folder.writestr(f"xl/f{n}", b"")

    return add


def sheet(xml: bytes) -> bytes:
    return repacked(lambda folder: folder.writestr(SHEET, xml), without=SHEET)


LAUGHS = b"<!DOCTYPE w [<!ENTITY a0 'ha'>" + b"".join(
    b"<!ENTITY a%d '%s'>" % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 12)
)
OUTSIDE = b"<!DOCTYPE w [<!ENTITY x SYSTEM 'file:///etc/passwd'>]>"
ROW = b"<worksheet xmlns='http://schemas.openxmlformats.org/spreadsheetml/2006/main'><sheetData><row r='1'><c r='A1' t='inlineStr'><is><t>%s</t></is></c></row></sheetData></worksheet>"


@cache
def hostile() -> dict[str, bytes]:
    cases = {
        "many files": repacked(many(1200)),
        "ten thousand files": repacked(many(10_500)),
        "a link": repacked(link),
        "locked": encrypted(good()),
        "laughs": sheet(LAUGHS + b"]>" + ROW % b"&a11;"),
        "a file of this computer": sheet(OUTSIDE + ROW % b"&x;"),
    }
    for size in (2_000_000, 40_000_000, 60_000_000):
        cases[f"{size} noughts"] = repacked(lambda folder, size=size: folder.writestr("xl/big.xml", b"0" * size))  # type: ignore[misc]
        cases[f"{size} in the sheet"] = sheet(b" " * size)
        nested = io.BytesIO()
        with zipfile.ZipFile(nested, "w", zipfile.ZIP_DEFLATED) as inner:
            inner.writestr("x", b"0" * size)
        once = nested.getvalue()
        cases[f"nested {size}"] = repacked(
            lambda folder, once=once, size=size: folder.writestr("xl/a.zip", once + b"0" * size)  # type: ignore[misc]
        )
    for name in (
        "../x", "../../evil", "xl/../../x", "/etc/x", "C:/x", "c:x", "\\\\host\\x", "xl\\..\\..\\x", "//host/x", "..",
    ):  # fmt: skip
        cases[f"named {name}"] = repacked(lambda folder, name=name: folder.writestr(name, "x"))  # type: ignore[misc]
    for name in ("[Content_Types].xml", SHEET, "xl/workbook.xml", SHEET.upper()):
        with pytest.warns(UserWarning, match="Duplicate") if name != SHEET.upper() else pytest.MonkeyPatch.context():
            cases[f"twice {name}"] = repacked(lambda folder, name=name: folder.writestr(name, "<x/>"))  # type: ignore[misc]
    whole, dice = good(), random.Random(30)
    for n in range(55):
        cases[f"cut {n}"] = whole[: dice.randrange(4, len(whole) - 30)]
    for n in range(20):
        # sizes that lie, in the list at the end
        changed = bytearray(whole)
        place = changed.rfind(SHEET.encode()) - 46  # the head of its line in the list
        struct.pack_into("<I", changed, place + 24, dice.choice([0, 5, 2**31, 2**32 - 2]))
        struct.pack_into("<I", changed, place + 20, dice.randrange(2**16, 2**31))
        cases[f"sizes {n}"] = bytes(changed)
    return cases


def test_a_usual_sheet_is_read(tmp_path: Path) -> None:
    (tmp_path / "w.xlsx").write_bytes(good())
    rows = read_sheet(tmp_path / "w.xlsx").rows
    assert [row[:3] for row in rows] == [("part", "g", ""), ("piston 1", "603.7", "")]


def test_a_hundred_hostile_sheets_are_refused_in_little_memory(tmp_path: Path) -> None:
    cases = hostile()
    assert len(cases) >= 100
    path = tmp_path / "w.xlsx"
    for name, data in cases.items():
        path.write_bytes(data)
        tracemalloc.start()
        try:
            with pytest.raises(RefusedError) as told:
                read_sheet(path)
            assert tracemalloc.get_traced_memory()[1] < 100_000_000, name
        except BaseException as fault:
            raise AssertionError(name) from fault
        finally:
            tracemalloc.stop()
        assert "w.xlsx" in str(told.value)
        assert "root:" not in str(told.value)
    assert [one.name for one in tmp_path.iterdir()] == ["w.xlsx"]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("many files", "files packed into one"),
        ("locked", "password"),
        ("a link", "a link packed"),
        ("named ../x", "lead out of it"),
        ("40000000 noughts", "times as large"),
        (f"twice {SHEET}", "two files of one name"),
    ],
)
def test_the_reason_is_told(tmp_path: Path, name: str, words: str) -> None:
    path = tmp_path / "w.xlsx"
    path.write_bytes(hostile()[name])
    with pytest.raises(RefusedError, match=words):
        read_sheet(path)


def test_damaged_sheets_are_read_or_refused(tmp_path: Path) -> None:
    path, whole, dice = tmp_path / "w.xlsx", good(), random.Random(31)
    refused = 0
    for _ in range(300):
        changed = bytearray(whole)
        for _ in range(dice.randrange(1, 4)):
            changed[dice.randrange(len(changed))] = dice.randrange(256)
        path.write_bytes(bytes(changed))
        try:
            read_sheet(path)
        except RefusedError:
            refused += 1
    assert refused > 100


def test_limits_stand_above_what_spreadsheet_programs_make() -> None:
    with zipfile.ZipFile(io.BytesIO(good())) as packed:
        assert len(packed.infolist()) * 20 < sheet_reading.MOST_ENTRIES

"""Reads a CSV file or a spreadsheet as a table of texts, bounded in size."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from zipfile import ZipFile, ZipInfo

from bench.use_cases.bring_in import Sheet
from bench.use_cases.errors import RefusedError

LARGEST = 5_000_000
LARGEST_UNPACKED = 50_000_000
MOST_ENTRIES, MOST_RATIO, SMALL = 1000, 100, 1_000_000
ENCRYPTED, FILE_KIND, LINK = 0x1, 0o170000, 0o120000
MOST_ROWS, MOST_COLUMNS = 2000, 80
LONGEST_CELL = 200
SPREADSHEETS = frozenset({".xlsx", ".xlsm"})


def read_sheet(path: Path) -> Sheet:
    """Read a file.

    Parameters
    ----------
    path : Path
        CSV with commas, semicolons or tabs, or a spreadsheet whose first sheet counts.

    Returns
    -------
    Sheet
        Every cell as text.

    Raises
    ------
    RefusedError
        When it cannot be read, or is too large.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as fault:
        raise RefusedError(str(path), found=fault.strerror or "cannot be read", wanted="a CSV or xlsx file") from fault
    if len(data) > LARGEST:
        raise RefusedError(str(path), found="more than 5 MB", wanted="a sheet of weights")
    if path.suffix.casefold() in SPREADSHEETS or data[:4] == b"PK\x03\x04":
        return Sheet(path.name, _spreadsheet(path, data))
    text = _decoded(path, data)
    delimiter = _delimiter(text)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        kept = tuple(
            tuple(cell[:LONGEST_CELL] for cell in row[:MOST_COLUMNS])
            for row, _ in zip(rows, range(MOST_ROWS), strict=False)
        )
    except csv.Error as fault:
        raise RefusedError(str(path), found=str(fault), wanted="CSV") from fault
    return Sheet(path.name, kept, decimal_comma=delimiter != ",")


def _decoded(path: Path, data: bytes) -> str:
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return data.decode("utf-16", errors="replace")
    if b"\x00" in data:
        raise RefusedError(str(path), found="bytes that are no text", wanted="a CSV or xlsx file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _delimiter(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(";\t,", key=first.count)


def _refuse_bomb(path: Path, entries: list[ZipInfo]) -> None:
    """Refuse what no spreadsheet program packs, before anything is unpacked."""
    names = [entry.filename.casefold() for entry in entries]
    unpacked, packed = sum(entry.file_size for entry in entries), sum(entry.compress_size for entry in entries)
    if len(entries) > MOST_ENTRIES:
        found = f"{len(entries)} files packed into one"
    elif unpacked > LARGEST_UNPACKED:
        found = "more than 50 MB when unpacked"
    elif unpacked > SMALL and unpacked > MOST_RATIO * packed:
        found = f"{unpacked / max(packed, 1):.0f} times as large when unpacked"
    elif len(set(names)) < len(names):
        found = "two files of one name packed into it"
    elif any(entry.flag_bits & ENCRYPTED for entry in entries):
        found = "a sheet locked by a password"
    elif any(
        name.startswith(("/", "\\")) or ":" in name or ".." in name.replace("\\", "/").split("/") for name in names
    ):
        found = "names that lead out of it"
    elif any((entry.external_attr >> 16) & FILE_KIND == LINK for entry in entries):
        found = "a link packed into it"
    else:
        return
    raise RefusedError(str(path), found=found, wanted="a sheet of weights as a spreadsheet program saves it")


def _spreadsheet(path: Path, data: bytes) -> tuple[tuple[str, ...], ...]:
    from openpyxl import load_workbook

    try:
        with ZipFile(io.BytesIO(data)) as packed:
            _refuse_bomb(path, packed.infolist())
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        try:
            sheet = book.worksheets[0]
            rows = sheet.iter_rows(max_row=MOST_ROWS, max_col=MOST_COLUMNS, values_only=True)
            return tuple(tuple("" if cell is None else str(cell)[:LONGEST_CELL] for cell in row) for row in rows)
        finally:
            book.close()
    except (RefusedError, MemoryError):
        raise
    except Exception as fault:
        # a damaged sheet makes the library stumble in a dozen ways, none of them a fault of ours
        words = f"cannot be opened ({type(fault).__name__}: {fault})"[:LONGEST_CELL]
        raise RefusedError(str(path), found=words, wanted="a CSV or xlsx file") from fault

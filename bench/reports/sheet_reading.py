"""Reads a CSV file or a spreadsheet as a table of texts, bounded in size."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from zipfile import BadZipFile, ZipFile

from bench.use_cases.bring_in import Sheet
from bench.use_cases.errors import RefusedError

LARGEST = 5_000_000
LARGEST_UNPACKED = 50_000_000
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


def _spreadsheet(path: Path, data: bytes) -> tuple[tuple[str, ...], ...]:
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with ZipFile(io.BytesIO(data)) as packed:
            if sum(entry.file_size for entry in packed.infolist()) > LARGEST_UNPACKED:
                raise RefusedError(str(path), found="more than 50 MB when unpacked", wanted="a sheet of weights")
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        try:
            sheet = book.worksheets[0]
            rows = sheet.iter_rows(max_row=MOST_ROWS, max_col=MOST_COLUMNS, values_only=True)
            return tuple(tuple("" if cell is None else str(cell)[:LONGEST_CELL] for cell in row) for row in rows)
        finally:
            book.close()
    except (BadZipFile, InvalidFileException, KeyError, ValueError, IndexError, OSError) as fault:
        raise RefusedError(str(path), found=f"cannot be opened ({fault})", wanted="a CSV or xlsx file") from fault

"""Bring weights in from a sheet that was written elsewhere: first what would be taken, then, on a yes, the taking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from statistics import median

from bench.models.job import Cell, JobSpec, PartKind, cells_in_order
from bench.models.job_state import JobState
from bench.trail.events import Event, WeightTaken
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.take_weight import HEAVIEST_TYPED_G

PLACE_WORDS = frozenset({"cylinder", "cylinders", "cyl", "cyl.", "place", "throw", "no", "no.", "#", "number"})
GRAM_WORDS = frozenset({"grams", "g", "weight", "weight g", "weight_g", "mass", "mass g"})
PART_WORDS = frozenset({"part", "kind"})
LONGEST_NUMBER = 14
COMPLAINTS_SHOWN = 20
LEAST_OF_A_SET = 3
FAR = Decimal("0.15")
"""Parts of one set differ by grams; a share this large is a slip or another unit."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as it stands in a file.

    Attributes
    ----------
    name : str
        The file, in words.
    rows : tuple[tuple[str, ...], ...]
        The heads first; every cell as text.
    decimal_comma : bool
        Numbers have a comma where others have a point.
    """

    name: str
    rows: tuple[tuple[str, ...], ...]
    decimal_comma: bool = False


@dataclass(frozen=True, slots=True)
class LineIn:
    """One weight that would be taken.

    Attributes
    ----------
    cell : Cell
        Where it goes.
    grams : Decimal
        Its weight. [g]
    where : str
        Where it stands in the sheet.
    before : Decimal or None
        What stands there now. [g]
    """

    cell: Cell
    grams: Decimal
    where: str
    before: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PlanIn:
    """What a sheet would bring.

    Attributes
    ----------
    source : str
        The file, in words.
    columns : tuple[tuple[str, str], ...]
        Heads of the sheet and the part each means; empty where it means none.
    lines : tuple[LineIn, ...]
        What would be taken.
    complaints : tuple[str, ...]
        What cannot be read, a sentence each.
    doubts : tuple[str, ...]
        What can be read and looks like a slip.
    """

    source: str
    columns: tuple[tuple[str, str], ...]
    lines: tuple[LineIn, ...]
    complaints: tuple[str, ...]
    doubts: tuple[str, ...] = ()


def plan_in(state: JobState, sheet: Sheet, mapping: Mapping[str, str]) -> PlanIn:
    """Return what a sheet would bring into a job; nothing is taken.

    Parameters
    ----------
    state : JobState
        The job.
    sheet : Sheet
        A row a cylinder with a column a part, a row a part with a column a cylinder, or a row a weight with
        part, place and grams.
    mapping : Mapping[str, str]
        Heads that were told to mean a part.

    Returns
    -------
    PlanIn
        With a complaint for everything that is left out.

    Raises
    ------
    RefusedError
        When no layout fits.
    """
    rows = [row for row in sheet.rows if any(text.strip() for text in row)]
    if len(rows) < 2:
        raise RefusedError(sheet.name, found=f"{len(rows)} rows with something in them", wanted="heads and weights")
    reader = _Reader(state, sheet, mapping)
    heads = [text.strip() for text in rows[0]]
    lowered = [head.casefold() for head in heads]
    parts = [i for i, head in enumerate(lowered) if head in PART_WORDS]
    places = [i for i, head in enumerate(lowered) if head in PLACE_WORDS]
    grams = [i for i, head in enumerate(lowered) if head in GRAM_WORDS]
    if parts and places and grams:
        reader.listed(rows[1:], parts[0], places[0], grams[0])
    elif any(reader.kind(head) for head in heads):
        reader.by_place(heads, rows[1:], places[0] if places else None)
    elif any(row and reader.kind(row[0]) for row in rows[1:]):
        reader.by_part(heads, rows[1:])
    else:
        known = ", ".join(f"{kind.name} ({kind.label})" for kind in state.spec.kinds)
        raise RefusedError(
            sheet.name,
            found=f"heads {', '.join(heads)[:200]}",
            wanted=f"a column or a row a part: {known}",
            do="name a column with --map COLUMN=PART",
        )
    return reader.plan()


class _Reader:
    def __init__(self, state: JobState, sheet: Sheet, mapping: Mapping[str, str]) -> None:
        self._state = state
        self._sheet = sheet
        self._kinds = _names(state.spec)
        for head, name in mapping.items():
            kind = self._kinds.get(_key(name))
            if kind is not None:
                self._kinds[_key(head)] = kind
        self._cells = frozenset(cells_in_order(state.spec))
        self._columns: dict[str, str] = {}
        self._lines: dict[Cell, LineIn] = {}
        self._complaints: list[str] = []
        self._doubts: list[str] = []

    def _numbered(self, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> int | None:
        """Return the first column that is no part and numbers its rows."""
        for i, head in enumerate(heads):
            texts = [row[i].strip() for row in rows if i < len(row) and row[i].strip()]
            whole = all(text.isascii() and text.isdigit() and len(text) <= 2 for text in texts)
            if self.kind(head) is None and texts and whole and len(set(texts)) == len(texts):
                return i
        return None

    def kind(self, words: str) -> PartKind | None:
        return self._kinds.get(_key(words))

    def listed(self, rows: Sequence[Sequence[str]], part: int, place: int, grams: int) -> None:
        for number, row in enumerate(rows, 2):
            texts = [row[i].strip() if i < len(row) else "" for i in (part, place, grams)]
            kind = self.kind(texts[0])
            if kind is None:
                self._complain(f"row {number}: '{texts[0]}' is no part of this job")
            else:
                self._columns[texts[0]] = kind.name
                self._take(kind, texts[1], texts[2], f"row {number}")

    def by_place(self, heads: Sequence[str], rows: Sequence[Sequence[str]], place: int | None) -> None:
        if place is None:
            place = self._numbered(heads, rows)
        if place is None:
            self._doubts.append("no column of cylinder numbers: the rows are taken in order, the first is 1")
        else:
            self._columns[heads[place]] = "cylinder or throw"
        kinds = [None if i == place else self.kind(head) for i, head in enumerate(heads)]
        for i, (head, kind) in enumerate(zip(heads, kinds, strict=True)):
            if head and i != place:
                self._columns[head] = kind.name if kind else ""
        for number, row in enumerate(rows, 1):
            where = row[place].strip() if place is not None and place < len(row) else str(number)
            for i, kind in enumerate(kinds):
                if kind is not None and i < len(row) and row[i].strip():
                    self._take(kind, where, row[i], f"row {number + 1}, column {heads[i]}")

    def by_part(self, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        for number, row in enumerate(rows, 2):
            kind = self.kind(row[0])
            self._columns[row[0].strip()] = kind.name if kind else ""
            if kind is None:
                continue
            for i, text in enumerate(row[1:], 1):
                if text.strip():
                    head = heads[i] if i < len(heads) and heads[i] else str(i)
                    self._take(kind, head, text, f"row {number}, column {head}")

    def plan(self) -> PlanIn:
        doubts = (*self._doubts, *_odd_ones(self._lines))
        return PlanIn(self._sheet.name, tuple(self._columns.items()), tuple(self._lines.values()), self._told(), doubts)

    def _take(self, kind: PartKind, place: str, text: str, where: str) -> None:
        digits = place.strip().removesuffix(".0")
        if not (digits.isascii() and digits.isdigit() and 1 <= int(digits[:4]) <= 64):
            self._complain(f"{where}: '{place.strip()[:20]}' is no place; wanted a number from 1")
            return
        cell = Cell(kind=kind.name, place=int(digits))
        grams = grams_of(text, decimal_comma=self._sheet.decimal_comma)
        if cell not in self._cells:
            self._complain(f"{where}: {cell} is not on this job's sheet")
        elif grams is None:
            self._complain(f"{where}: '{text.strip()[:20]}' is no weight; wanted grams, e.g. 603.7")
        elif cell in self._lines:
            self._complain(f"{where}: {cell} stands there twice, {self._lines[cell].where} counts")
        else:
            there = self._state.weighed.get(cell)
            self._lines[cell] = LineIn(cell, grams, where, there.grams if there else None)

    def _complain(self, words: str) -> None:
        self._complaints.append(words)

    def _told(self) -> tuple[str, ...]:
        if len(self._complaints) <= COMPLAINTS_SHOWN:
            return tuple(self._complaints)
        return (*self._complaints[:COMPLAINTS_SHOWN], f"and {len(self._complaints) - COMPLAINTS_SHOWN} more")


def _odd_ones(lines: Mapping[Cell, LineIn]) -> list[str]:
    """Return a sentence for each weight that is far from the others of its kind: a slip, or another unit."""
    doubts: list[str] = []
    for kind in dict.fromkeys(cell.kind for cell in lines):
        grams = {cell: line.grams for cell, line in lines.items() if cell.kind == kind}
        usual = median(grams.values())
        doubts += [
            f"{lines[cell].where}: {cell} with {value} g is far from the others (about {usual:.1f} g): look again"
            for cell, value in grams.items()
            if len(grams) >= LEAST_OF_A_SET and abs(value - usual) > FAR * usual
        ]
    return doubts


def _key(words: str) -> str:
    plain = words.casefold().replace("_", " ").replace(",", " ").replace("[g]", " ").replace("(g)", " ")
    return " ".join(plain.split()).removesuffix(" g").removesuffix(" grams")


def _names(spec: JobSpec) -> dict[str, PartKind]:
    names: dict[str, PartKind] = {}
    for kind in spec.kinds:
        for words in (kind.name, kind.label, f"{kind.name}s", f"{kind.label}s"):
            names[_key(words)] = kind
    return names


def grams_of(text: str, *, decimal_comma: bool = False) -> Decimal | None:
    """Return a weight that stands in a sheet.

    Parameters
    ----------
    text : str
        A cell.
    decimal_comma : bool
        Numbers have a comma where others have a point.

    Returns
    -------
    Decimal or None
        None when it is no weight above 0 and up to 20,000 g. [g]
    """
    words = text.strip().removesuffix("g").strip()
    if decimal_comma and words.count(",") == 1 and "." not in words:
        words = words.replace(",", ".")
    if not words or len(words) > LONGEST_NUMBER or not words.isascii() or "_" in words:
        return None
    try:
        value = Decimal(words)
    except InvalidOperation:
        return None
    return value if value.is_finite() and 0 < value <= HEAVIEST_TYPED_G else None


def bring_in(scribe: Scribe, plan: PlanIn) -> list[Event]:
    """Record everything a plan holds, in one durable step, marked as imported.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    plan : PlanIn
        What would be taken.

    Returns
    -------
    list[Event]
        As recorded.

    Raises
    ------
    RefusedError
        When the plan is empty or no job is open.
    """
    state = scribe.state
    if state is None or not plan.lines:
        raise RefusedError(plan.source, found="no weight that could be taken", do="look at the sheet's heads")
    payloads: list[WeightTaken] = []
    for line in plan.lines:
        before = state.weighed.get(line.cell)
        places = max(0, -int(line.grams.as_tuple().exponent))  # finite, so the exponent is a number
        payloads.append(
            WeightTaken(
                cell=line.cell,
                shown=line.grams,
                unit="g",
                grams=line.grams,
                refined_g=float(line.grams),
                # nobody knows more of it than its last digit, taken as a rectangle
                standard_uncertainty_g=float(Decimal(1).scaleb(-places)) / 12**0.5,
                reason=f"from {plan.source}, {line.where}"[:200],
                supersedes=before.entry.event_id if before else None,
            )
        )
    return scribe.record(payloads, how="imported")

"""Learns the profile of a balancing machine's text from one text and the numbers a person reads on the machine."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from typing import Literal, cast

from pydantic import ValidationError

from drivers.balancers.balancer_profile import AngleMeaning, BalancerProfile
from drivers.contract import ExportFault, ExportReader, SpinReading
from drivers.number_style import NumberStyle
from drivers.profile import ProfileError
from drivers.showing import shown_text
from drivers.teach_layouts import Find, Layout, block_layouts, column_layouts, table_layouts

_ENCODINGS = ("utf-8", "utf-16", "cp1252")
_READABLE = "keyed lines, a table with headings, or fixed columns, with amount and angle of each plane"


@dataclass(frozen=True, slots=True)
class ShownPlane:
    """What a person reads on the machine for one plane of the last run in the text.

    Attributes
    ----------
    plane : str
        The bench's plane, "front" or "rear".
    amount : str
        As shown, with all decimals.
    angle : str
        As shown, with all decimals.
    """

    plane: str
    amount: str
    angle: str


@dataclass(frozen=True, slots=True)
class TaughtExport:
    """A profile that reads the text, and why it is believed.

    Attributes
    ----------
    profile : BalancerProfile
        The profile.
    why : tuple[str, ...]
        What was found, one sentence each.
    """

    profile: BalancerProfile
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ExportNeedsMore:
    """The text fits more than one reading, or something is not in it.

    Attributes
    ----------
    ask : str
        What the person is to do.
    """

    ask: str


@dataclass(frozen=True, slots=True)
class ExportUnreadable:
    """No reading of the text gives what the machine showed.

    Attributes
    ----------
    found : str
        What the text holds.
    wanted : str
        What could be read.
    do : str
        What the person can do.
    """

    found: str
    wanted: str
    do: str


def teach_export(
    data: bytes,
    shown: Sequence[ShownPlane],
    *,
    angle: AngleMeaning,
    unit: Literal["g", "g mm", "oz in"],
    name: str = "taught",
) -> TaughtExport | ExportNeedsMore | ExportUnreadable:
    """Learn the profile of a text.

    Parameters
    ----------
    data : bytes
        A text with one run or several.
    shown : Sequence[ShownPlane]
        What the machine shows for one of the runs, a plane each.
    angle : AngleMeaning
        What the machine's angle means: no text tells it.
    unit : Literal["g", "g mm", "oz in"]
        The unit of the amounts.
    name : str
        Name of the new profile.

    Returns
    -------
    TaughtExport | ExportNeedsMore | ExportUnreadable
        A profile that reads the text, a question, or why it cannot be read.
    """
    slip = _slip(shown)
    if slip is not None:
        return slip
    found: list[tuple[BalancerProfile, list[SpinReading]]] = []
    for encoding, decimal in product(_ENCODINGS, (".", ",")):
        text = _decoded(data, encoding)
        if text is None:
            continue
        for layout in _layouts(text, shown, decimal):
            taught = _tried(layout, data, shown, encoding=encoding, decimal=decimal, angle=angle, unit=unit, name=name)
            if taught is not None:
                found.append(taught)
        if found:
            break
    if not found:
        return _not_found(data, shown)
    # A layout that reads fewer of the same runs has merely overlooked some.
    profile, runs = max(found, key=lambda one: len(one[1]))
    read = [run.planes for run in runs]
    for _, others in found:
        if any(run.planes not in read for run in others):
            return ExportNeedsMore("give a text with another run: this one can be read in two ways")
    why = (
        f"{len(runs)} run(s) are read, and one of them shows what the machine showed",
        f"the text is read as {profile.driver}, decimal sign {profile.numbers.decimal!r}, {profile.encoding}",
    )
    return TaughtExport(profile, why)


def _slip(shown: Sequence[ShownPlane]) -> ExportNeedsMore | ExportUnreadable | None:
    """Look for slips of the person before anything is learnt from them."""
    if len(shown) != len({plane.plane for plane in shown}) or not shown:
        return ExportUnreadable("planes named twice or none", "each plane once", "type each plane's figures once")
    numbers = [number for plane in shown for number in (plane.amount, plane.angle)]
    odd = [number for number in numbers if not _is_number(number)]
    if odd:
        return ExportUnreadable(shown_text(odd[0]), "a number as the machine shows it", "type it with all decimals")
    if len({Decimal(_plain(number)) for number in numbers}) != len(numbers):
        return ExportNeedsMore("spin until amounts and angles of the planes are all different, and type those")
    return None


def _is_number(text: str) -> bool:
    return re.fullmatch(r"\s*[0-9]{1,7}(?:[.,][0-9]{1,4})?\s*", text) is not None


def _plain(text: str) -> str:
    return text.strip().replace(",", ".")


def _decoded(data: bytes, encoding: str) -> str | None:
    try:
        text = data.decode("utf-8-sig" if encoding == "utf-8" else encoding)
    except UnicodeDecodeError:
        return None
    if "\x00" in text or (encoding == "utf-16" and not data.startswith((b"\xff\xfe", b"\xfe\xff"))):
        return None
    return text


def _layouts(text: str, shown: Sequence[ShownPlane], decimal: str) -> list[Layout]:
    """Propose layouts of every kind for the places where the shown numbers stand."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    finds: list[Find] = []
    for plane in shown:
        for what, number in (("amount", plane.amount), ("angle", plane.angle)):
            written = _plain(number).replace(".", decimal)
            pattern = re.compile(rf"(?<![0-9.]){re.escape(written)}(?![0-9]|\.[0-9])")
            places = [(at, hit.start(), hit.end()) for at, line in enumerate(lines) for hit in pattern.finditer(line)]
            if not places:
                return []
            finds.append(Find(plane.plane, cast("Literal['amount', 'angle']", what), places))
    planes = [plane.plane for plane in shown]
    return [
        *table_layouts(lines, finds, planes, decimal),
        *block_layouts(lines, finds, planes, decimal),
        *column_layouts(lines, finds, planes, NumberStyle(decimal=decimal)),
    ]


def _tried(
    layout: Layout,
    data: bytes,
    shown: Sequence[ShownPlane],
    *,
    encoding: str,
    decimal: str,
    angle: AngleMeaning,
    unit: str,
    name: str,
) -> tuple[BalancerProfile, list[SpinReading]] | None:
    """Make the profile of a layout and read the text with it; one fault is one too many."""
    try:
        profile = BalancerProfile.model_validate(
            {
                "name": name,
                "title": "Learnt from the machine's own text",
                "encoding": encoding,
                "numbers": {"decimal": decimal},
                "angle": angle.model_dump(),
                "unit": unit,
                **layout,
            }
        )
        items = reader_of(profile).read(data)
    except (ValidationError, ProfileError):
        return None
    runs = [item for item in items if isinstance(item, SpinReading)]
    if any(isinstance(item, ExportFault) for item in items):
        return None
    wanted = {(plane.plane, _plain(plane.amount), _plain(plane.angle)) for plane in shown}
    agreeing = [run for run in runs if {(p.plane, str(p.amount), str(p.angle)) for p in run.planes} == wanted]
    return (profile, runs) if len(agreeing) == 1 else None


def reader_of(profile: BalancerProfile) -> ExportReader:
    """Return what reads a text with a profile of one of our own layouts.

    Parameters
    ----------
    profile : BalancerProfile
        With a table, with columns or with a block.

    Returns
    -------
    ExportReader
        The reader.
    """
    from drivers.balancers.delimited_table import DelimitedTableReader
    from drivers.balancers.fixed_columns import FixedColumnsReader
    from drivers.balancers.keyed_block import KeyedBlockReader

    if profile.table is not None:
        return DelimitedTableReader(profile)
    if profile.columns is not None:
        return FixedColumnsReader(profile)
    return KeyedBlockReader(profile)


def _not_found(data: bytes, shown: Sequence[ShownPlane]) -> ExportUnreadable:
    text = data.decode("latin-1")
    typed = [number.strip() for plane in shown for number in (plane.amount, plane.angle)]
    missing = [number for number in typed if number not in text and number.replace(".", ",") not in text]
    if missing:
        found = f"no {' and no '.join(shown_text(number) for number in missing)} in the text"
        return ExportUnreadable(found, "every number as the machine shows it", "type all decimals the machine shows")
    head = next((line for line in text.splitlines() if line.strip()), "")
    do = "save the text in another form, if the machine has one; this one I cannot read"
    return ExportUnreadable(f"a text that begins {shown_text(head)}", _READABLE, do)

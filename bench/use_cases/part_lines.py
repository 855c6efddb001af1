"""A part that belongs on the crank, as one line that a person types: name; at; carries; heavy; within."""

from __future__ import annotations

import re

from pydantic import ValidationError

from bench.models.job import MountedPart
from bench.use_cases.errors import RefusedError
from bench.use_cases.record_run import GRAM_MILLIMETRES_PER_OUNCE_INCH

FORM = "name; at mm; carries g mm (or g x mm radius, or unknown); heavy °; within %"
_NUMBER = r"([-+]?\d+(?:[.,]\d+)?)"
_G_MM = re.compile(rf"{_NUMBER}\s*g[\s·*.-]*mm")
_OZ_IN = re.compile(rf"{_NUMBER}\s*oz[\s·*.-]*in")
_AT_RADIUS = re.compile(rf"{_NUMBER}\s*g\s*(?:x|×|at)\s*{_NUMBER}\s*(?:mm)?")
_PLAIN = re.compile(rf"{_NUMBER}\s*(?:mm|°|deg|%)?")


def part_line(part: MountedPart) -> str:
    """Return a part as a line that can be edited.

    Parameters
    ----------
    part : MountedPart
        The part.

    Returns
    -------
    str
        For example "flywheel; at 540; carries 900 g mm; heavy 90; within 10".
    """
    if part.carries_g is not None:
        carries = f"{part.carries_g:g} g x {part.at_radius_mm:g} mm"
    else:
        carries = "unknown" if part.carries_g_mm is None else f"{part.carries_g_mm:g} g mm"
    return (
        f"{part.name}; at {part.position_mm:g}; carries {carries}; heavy {part.heavy_deg:g}; "
        f"within {part.give_or_take_percent:g}"
    )


def part_from(text: str) -> MountedPart:
    """Return the part that a line tells of.

    Parameters
    ----------
    text : str
        As of `part_line`; carries, heavy and within may be left out.

    Returns
    -------
    MountedPart
        The part; what it carries is unknown where the line does not tell.

    Raises
    ------
    RefusedError
        When a piece of it cannot be read.
    """
    name, *pieces = [piece.strip() for piece in text.split(";")]
    where = f"part '{name or text}'"
    told: dict[str, object] = {"name": name}
    for piece in (p for p in pieces if p):
        word, _, figure = piece.partition(" ")
        if word not in {"at", "carries", "heavy", "within"}:
            raise RefusedError(where, found=f"'{piece}'", wanted=FORM)
        told |= _carries(figure.strip(), where) if word == "carries" else {_FIELD[word]: _number(figure, where, piece)}
    if "position_mm" not in told:
        raise RefusedError(
            where,
            found="no 'at'",
            wanted="where its middle is along the axis, in mm from the front plane; in front of it negative",
        )
    try:
        return MountedPart.model_validate(told)
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        raise RefusedError(where, found=str(first["msg"]).removeprefix("Value error, "), wanted=FORM) from None


_FIELD = {"at": "position_mm", "heavy": "heavy_deg", "within": "give_or_take_percent"}


def _value(digits: str) -> float:
    return float(digits.replace(",", "."))


def _number(text: str, where: str, piece: str) -> float:
    found = _PLAIN.fullmatch(text.strip())
    if found is None:
        raise RefusedError(where, found=f"'{piece}'", wanted="a number")
    return _value(found[1])


def _carries(text: str, where: str) -> dict[str, object]:
    if text in {"unknown", "?"}:
        return {}
    at_radius = _AT_RADIUS.fullmatch(text)
    if at_radius is not None:
        return {"carries_g": _value(at_radius[1]), "at_radius_mm": _value(at_radius[2])}
    whole = _G_MM.fullmatch(text)
    if whole is not None:
        return {"carries_g_mm": _value(whole[1])}
    ounces = _OZ_IN.fullmatch(text)
    if ounces is not None:
        return {"carries_g_mm": _value(ounces[1]) * GRAM_MILLIMETRES_PER_OUNCE_INCH}
    raise RefusedError(
        where, found=f"carries '{text}'", wanted="for example 900 g mm, 6 g x 150 mm, 1.25 oz in, or unknown"
    )

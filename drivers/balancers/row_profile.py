"""The parts of a balancing machine's profile for texts made of rows."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from drivers.profile import Strict

Column = Annotated[tuple[int, int], Field()]
_PLAIN_FIELDS = frozenset({"label", "speed", "unit", "plane", "amount", "angle"})


def check_row_fields(names: set[str]) -> None:
    """Refuse field names that mean nothing, or too few to make a run.

    Parameters
    ----------
    names : set[str]
        Names of the fields of a row: "label", "speed", "unit", and either "plane", "amount" and "angle" for a row a
        plane, or "front.amount" and "front.angle" for a row a run.

    Raises
    ------
    ValueError
        If a name is unknown, or amounts and angles are missing.
    """
    split = {name for name in names if name.count(".") == 1 and name.split(".")[1] in {"amount", "angle"}}
    unknown = names - _PLAIN_FIELDS - split
    if unknown:
        wanted = ", ".join(sorted(_PLAIN_FIELDS)) + ', or a plane with ".amount" or ".angle"'
        raise ValueError(f"no field is called {min(unknown)!r}; wanted {wanted}")
    one_a_plane = {"plane", "amount", "angle"} <= names
    pairs = {name.split(".")[0] for name in split}
    whole = bool(pairs) and all({f"{pair}.amount", f"{pair}.angle"} <= names for pair in pairs)
    if one_a_plane == whole:
        raise ValueError(
            "either plane, amount and angle (a row a plane), or amount and angle of each plane (a row a run)"
        )


class Table(Strict):
    """A table with a delimiter and a line of headings.

    Attributes
    ----------
    delimiter : str
        What stands between cells.
    columns : dict[str, str]
        Field by field the heading of its column.
    heading_line : int
        Which line holds the headings, counted from 1.
    skip : tuple[str, ...]
        Beginnings of lines that are passed over.
    """

    delimiter: Literal[",", ";", "\t", "|"]
    columns: Annotated[dict[str, str], Field(min_length=2, max_length=40)]
    heading_line: Annotated[int, Field(ge=1, le=50)] = 1
    skip: tuple[str, ...] = ()

    @field_validator("columns")
    @classmethod
    def _fields_known(cls, columns: dict[str, str]) -> dict[str, str]:
        check_row_fields(set(columns))
        return columns


class FixedColumns(Strict):
    """Rows whose fields stand in fixed columns.

    Attributes
    ----------
    fields : dict[str, Column]
        Field by field its first and last column, counted from 1.
    skip_lines : int
        Lines before the first row.
    skip : tuple[str, ...]
        Beginnings of lines that are passed over.
    """

    fields: Annotated[dict[str, Column], Field(min_length=2, max_length=40)]
    skip_lines: Annotated[int, Field(ge=0, le=50)] = 0
    skip: tuple[str, ...] = ()

    @field_validator("fields")
    @classmethod
    def _fields_fit(cls, fields: dict[str, Column]) -> dict[str, Column]:
        check_row_fields(set(fields))
        taken: set[int] = set()
        for name, (first, last) in fields.items():
            columns = set(range(first, last + 1))
            if first < 1 or last < first or last > 400 or taken & columns:
                raise ValueError(
                    f"{name} = [{first}, {last}]: columns count from 1, upwards, and belong to one field each"
                )
            taken |= columns
        return fields

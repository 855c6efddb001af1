"""Profiles: what an instrument sends, told in a TOML file, read with the file and the field in every error."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from drivers.number_style import NumberStyle
from drivers.showing import shown_size

Name = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
ShortText = Annotated[str, Field(min_length=1, max_length=128)]
PROFILE_CAP = 65536
"""Largest profile file that is read. [bytes]"""


class ProfileError(ValueError):
    """A profile that cannot be used: where, what was found, what is wanted.

    Parameters
    ----------
    where : str
        File or name of the profile.
    field : str
        Path of the field, for instance ``line.0.text``; empty for the file as a whole.
    found : str
        What stands there.
    wanted : str
        What would be right.
    """

    def __init__(self, *, where: str, field: str, found: str, wanted: str) -> None:
        place = f"{where}: {field}" if field else where
        super().__init__(f"{place}: found {found}; wanted {wanted}")
        self.where = where
        self.field = field
        self.found = found
        self.wanted = wanted


class Strict(BaseModel):
    """A part of a profile: no unknown fields, never changed once read."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class PortSettings(Strict):
    """How the port of an instrument is opened.

    Attributes
    ----------
    baud : int
        Speed. [bit/s]
    bits : int
        Data bits of a character.
    parity : str
        "none", "even" or "odd".
    stop_bits : int
        Stop bits of a character.
    flow : str
        "none", "hardware" (RTS and CTS) or "software" (XON and XOFF).
    ask : str
        Text sent to make the instrument answer; empty when it speaks by itself.
    ask_every_s : float
        Time from one question to the next. [s]
    quiet_is_normal : bool
        True when the instrument speaks only when a key is pressed or a run ends, so that silence means nothing.
    """

    baud: Annotated[int, Field(ge=50, le=4_000_000)] = 9600
    bits: Literal[7, 8] = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Literal[1, 2] = 1
    flow: Literal["none", "hardware", "software"] = "none"
    ask: Annotated[str, Field(max_length=64)] = ""
    ask_every_s: Annotated[float, Field(ge=0.02, le=60.0)] = 0.2
    quiet_is_normal: bool = False

    @property
    def ask_bytes(self) -> bytes:
        """The question as it goes over the wire."""
        return self.ask.encode("latin-1", "replace")


class Numbers(Strict):
    """How the instrument writes numbers.

    Attributes
    ----------
    decimal : str
        Decimal sign; there is no default, because a wrong guess is a factor of a thousand.
    thousands : str
        Sign between groups of three; empty when there is none.
    implied : int
        Digits behind a decimal sign that is not sent.
    backwards : bool
        True when the last digit comes first.
    places : int
        Exact number of digits behind the decimal sign; -1 when it varies.
    """

    decimal: Literal[".", ","]
    thousands: Literal["", "'", ".", ",", " "] = ""
    implied: Annotated[int, Field(ge=0, le=4)] = 0
    backwards: bool = False
    places: Annotated[int, Field(ge=-1, le=4)] = -1

    @property
    def style(self) -> NumberStyle:
        """The same as the grammar wants it."""
        return NumberStyle(
            decimal=self.decimal,
            thousands=self.thousands,
            implied=self.implied,
            backwards=self.backwards,
            places=self.places,
        )

    @field_validator("thousands")
    @classmethod
    def _thousands_differ(cls, thousands: str, info: object) -> str:
        """Refuse one sign for two meanings."""
        data: dict[str, object] = getattr(info, "data", {})
        if thousands and thousands == data.get("decimal"):
            raise ValueError("the decimal sign cannot group thousands as well")
        return thousands


_Model = TypeVar("_Model", bound=BaseModel)


def read_profile(path: Path, model: type[_Model]) -> _Model:
    """Read a profile file.

    Parameters
    ----------
    path : Path
        A TOML file.
    model : type[_Model]
        What it must hold.

    Returns
    -------
    _Model
        The profile.

    Raises
    ------
    ProfileError
        If the file cannot be read, is no TOML, or a field is missing, unknown or out of range.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(PROFILE_CAP + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ProfileError(where=str(path), field="", found=reason, wanted="a readable TOML file") from error
    if len(raw) > PROFILE_CAP:
        found = f"more than {shown_size(PROFILE_CAP)}"
        raise ProfileError(where=str(path), field="", found=found, wanted="a profile of a few dozen lines")
    return parse_profile(raw, model, where=path.name)


def parse_profile(raw: bytes, model: type[_Model], *, where: str) -> _Model:
    """Read a profile from the bytes of a TOML file.

    Parameters
    ----------
    raw : bytes
        The file's content.
    model : type[_Model]
        What it must hold.
    where : str
        Name of the file, for messages.

    Returns
    -------
    _Model
        The profile.

    Raises
    ------
    ProfileError
        If it is no UTF-8, no TOML, or a field is missing, unknown or out of range.
    """
    try:
        data = tomllib.loads(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        found = f"byte {error.start} is not UTF-8"
        raise ProfileError(where=where, field="", found=found, wanted="a file saved as UTF-8") from error
    except tomllib.TOMLDecodeError as error:
        raise ProfileError(where=where, field="", found=str(error), wanted="a TOML file") from error
    try:
        return model.model_validate(data)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        found = "nothing" if first["type"] == "missing" else repr(first["input"])[:80]
        wanted = first["msg"].removeprefix("Value error, ")
        raise ProfileError(where=where, field=place, found=found, wanted=wanted) from error

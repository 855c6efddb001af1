"""The shop's settings: TOML, read with file and field in every complaint, and where each value came from."""

from __future__ import annotations

import difflib
import os
import tomllib
from pathlib import Path
from typing import Annotated, Literal, cast
from urllib.parse import urlsplit

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from bench.command_line.care_settings import CareSettings
from bench.command_line.weighing_settings import WeighingSettings, stock_piece
from bench.models.job import Words
from bench.use_cases.errors import RefusedError

Text = Annotated[str, Field(max_length=400)]
LONGEST_INITIALS = 12


def split_names(words: str) -> tuple[str, ...]:
    """Return the initials of a line of names, each once.

    Parameters
    ----------
    words : str
        With blanks or commas between.

    Returns
    -------
    tuple[str, ...]
        In their order.

    Examples
    --------
    >>> split_names("mk, jo an mk")
    ('mk', 'jo', 'an')
    """
    return tuple(dict.fromkeys(words.replace(",", " ").split()))


def with_name(names: tuple[str, ...], by: str) -> tuple[str, ...]:
    """Return names with one more, where it is not among them.

    Parameters
    ----------
    names : tuple[str, ...]
        Initials.
    by : str
        One more; empty for none.

    Returns
    -------
    tuple[str, ...]
        A new one stands last.
    """
    return names if not by or by in names else (*names, by)


class InstrumentSettings(BaseModel):
    """One instrument.

    Attributes
    ----------
    name : str
        What it is called at the bench and in the record.
    profile : str
        Profile its bytes or texts are read with.
    url : str
        Device or pySerial URL; empty when it has none.
    folder : str
        Folder the balancing machine leaves its texts in; empty when it has none.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)
    name: Words
    profile: Words
    url: Text = ""
    folder: Text = ""


class IntakeSettings(BaseModel):
    """What the form of a new job begins with. It changes results, so it is copied into the job and read from there.

    Attributes
    ----------
    oil_g : float or None
        Oil allowance a throw. [g]
    radius_mm : float or None
        Correction radius. [mm]
    shop_limit_g : float
        Limit a plane, at the correction radius. [g]
    bobweight_g : float
        How near a bobweight must come to its target. [g]
    spin_uncertainty_g : float
        Expanded uncertainty of a plane's reading. [g]
    """

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)
    oil_g: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)] | None = None
    radius_mm: Annotated[float, Field(gt=0, le=2000, allow_inf_nan=False)] | None = None
    shop_limit_g: Annotated[float, Field(gt=0, le=1000, allow_inf_nan=False)] = 1.0
    bobweight_g: Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)] = 0.1
    spin_uncertainty_g: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)] = 0.2


class Settings(BaseModel):
    """All settings.

    Attributes
    ----------
    by : str
        Initials of who is at the bench; kept until somebody else is named.
    names : str
        Initials of those who work at this bench, with blanks between them; the first nine have the keys 1 to 9.
    bench : str
        Name of this bench; the computer's name when empty.
    share : str
        Address of the shared record of several benches, postgresql://bench@host/database, without a password.
    plugins : str
        Names of foreign drivers that may run, with blanks between them; no other one ever does.
    plugin_files : dict[str, str]
        Distribution, version and hash each of them had when it was allowed; `settings --set plugins=NAME` writes it.
    theme : str
        Colours: "dusk" dark, "chalk" light, "stark" high contrast, "mono" none; empty takes the dark ones, or none
        where NO_COLOR is set.
    glyphs : str
        What pictures are drawn with, the older the console the further to the right: quadrant, braille, half, ascii.
    units : str
        What a number without a unit means in the form of a new job: "metric" or "imperial".
    sound : str
        "bell" for the terminal's bell, which has one pitch; "tones" for tones of different pitch and pattern through a
        program of this computer; "none" for silence.
    speech : str
        "prompts" speaks what is due through a program of this computer, "none" does not.
    weighing : WeighingSettings
        When the scale is to be checked again, and how rods are hung.
    stock : dict[str, str]
        Washers and shims: grams of one and how many, e.g. "20.0 x 8", by their names.
    keys : dict[str, str]
        Other keys for actions, by their id.
    columns : dict[str, str]
        Column heads of sheets that were brought in, and the part each means.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)
    by: Annotated[str, Field(max_length=12)] = ""
    names: Text = ""
    bench: Annotated[str, Field(max_length=40)] = ""
    theme: Literal["", "dusk", "chalk", "stark", "mono"] = ""
    glyphs: Literal["quadrant", "braille", "half", "ascii"] = "quadrant"
    units: Literal["metric", "imperial"] = "metric"
    sound: Literal["bell", "tones", "none"] = "bell"
    speech: Literal["none", "prompts"] = "none"
    share: Text = ""
    plugins: Text = ""
    plugin_files: dict[str, Text] = {}
    scale: InstrumentSettings = InstrumentSettings(name="scale", profile="plain-stream")
    balancer: InstrumentSettings = InstrumentSettings(name="balancer", profile="keyed-block")
    intake: IntakeSettings = IntakeSettings()
    care: CareSettings = CareSettings()
    weighing: WeighingSettings = WeighingSettings()
    stock: dict[str, Text] = {}
    keys: dict[str, Text] = {}
    columns: dict[str, Text] = {}

    @field_validator("names")
    @classmethod
    def _are_initials(cls, names: str) -> str:
        for name in split_names(names):
            if len(name) > LONGEST_INITIALS:
                raise ValueError(f"initials of up to {LONGEST_INITIALS} letters, with blanks between them")
        return names

    @field_validator("share")
    @classmethod
    def _is_shared(cls, share: str) -> str:
        parts = urlsplit(share)
        if share and parts.scheme not in {"postgresql", "postgres"}:
            raise ValueError("an address that begins with postgresql://")
        if parts.password:
            raise ValueError("an address without a password, which belongs into ~/.pgpass")
        return share

    @field_validator("stock")
    @classmethod
    def _are_pieces(cls, stock: dict[str, str]) -> dict[str, str]:
        for words in stock.values():
            stock_piece(words)
        return stock

    @property
    def all_names(self) -> tuple[str, ...]:
        """Who works at this bench; who is there now is among them."""
        return with_name(split_names(self.names), self.by)


def plug_in_names(words: str) -> tuple[str, ...]:
    """Return the names in the setting `plugins`.

    Parameters
    ----------
    words : str
        Names with blanks or commas between them.

    Returns
    -------
    tuple[str, ...]
        Each once, as given.

    Examples
    --------
    >>> plug_in_names("far, near  far")
    ('far', 'near')
    """
    return tuple(dict.fromkeys(words.replace(",", " ").split()))


class SettingsError(RefusedError):
    """The settings cannot be used as they are."""

    of_settings = True


ENVIRONMENT: dict[str, tuple[str, ...]] = {
    "SPINLEDGER_BY": ("by",),
    "SPINLEDGER_BENCH": ("bench",),
    "SPINLEDGER_SCALE": ("scale", "url"),
    "SPINLEDGER_SCALE_PROFILE": ("scale", "profile"),
    "SPINLEDGER_BALANCER_FOLDER": ("balancer", "folder"),
    "SPINLEDGER_BALANCER_PROFILE": ("balancer", "profile"),
    "SPINLEDGER_THEME": ("theme",),
    "SPINLEDGER_GLYPHS": ("glyphs",),
    "SPINLEDGER_SOUND": ("sound",),
    "SPINLEDGER_SPEECH": ("speech",),
}
FREE_TABLES = frozenset({"keys", "columns", "plugin_files", "stock"})
"""Tables whose keys are names of other things, which may hold points."""


def known_keys(model: type[BaseModel] = Settings, prefix: str = "") -> list[str]:
    """Return the settings there are, with points between table and key.

    Parameters
    ----------
    model : type[BaseModel]
        Where to begin.
    prefix : str
        What stands before.

    Returns
    -------
    list[str]
        For example "scale.url".
    """
    keys: list[str] = []
    for name, field in model.model_fields.items():
        inner = field.annotation
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            keys += known_keys(inner, f"{prefix}{name}.")
        else:
            keys.append(prefix + name)
    return keys


def nearest(key: str) -> str:
    """Return what was most likely meant by a key that is not known.

    Parameters
    ----------
    key : str
        With points.

    Returns
    -------
    str
        "'scale.url', the nearest that is known", or all there are.
    """
    known = known_keys()
    last = [name for name in known if name.rpartition(".")[2] == key.rpartition(".")[2]]
    near = difflib.get_close_matches(key, known, n=1) or last[:1]
    return f"'{near[0]}', the nearest that is known" if near else f"one of {', '.join(known)}"


def _complaint(path: Path, fault: ValidationError) -> SettingsError:
    first = fault.errors(include_url=False)[0]
    where = ".".join(str(part) for part in first["loc"])
    if first["type"] == "extra_forbidden":
        return SettingsError(
            f"{path}: {where}", found="a key that is not known", wanted=nearest(where), do="correct the file"
        )
    given: object = first["input"]
    found = "a table" if isinstance(given, dict) else f"{given!r}"
    password = urlsplit(given).password if where == "share" and isinstance(given, str) else None
    found = found.replace(f":{password}@", ":…@") if password else found
    wanted = str(first["msg"]).removeprefix("Input should be ").removeprefix("Value error, ")
    return SettingsError(f"{path}: {where}", found=found, wanted=wanted, do="correct the file")


def check_keys(path: Path, keys: dict[str, str]) -> None:
    """See that other keys are for actions there are, and are keys that reach us.

    Parameters
    ----------
    path : Path
        The settings file, for the complaint.
    keys : dict[str, str]
        Key names by the action's id.

    Raises
    ------
    SettingsError
        With the nearest action, or why the key cannot be used.
    """
    from bench.screens.actions import BY_ID, why_not_key

    for id_, key in keys.items():
        where = f"{path}: keys.{id_}"
        if id_ not in BY_ID:
            near = difflib.get_close_matches(id_, BY_ID, n=1)
            wanted = f"'{near[0]}', the nearest there is" if near else "a name of the guide's page 'keys'"
            raise SettingsError(where, found="an action that is not known", wanted=wanted, do="correct the file")
        refused = why_not_key(id_, key, keys)
        if refused:
            raise SettingsError(where, found=f"'{key}'", wanted=refused, do="choose another key")


def read_settings(path: Path, overrides: dict[tuple[str, ...], str] | None = None) -> tuple[Settings, dict[str, str]]:
    """Read settings: option before environment before file before default.

    Parameters
    ----------
    path : Path
        The settings file; it need not exist.
    overrides : dict[tuple[str, ...], str] | None
        Options given on the command line.

    Returns
    -------
    tuple[Settings, dict[str, str]]
        The settings, and for each value that was given where it came from.

    Raises
    ------
    SettingsError
        With file, field, what is wrong and the nearest known key.
    """
    origin: dict[str, str] = {}
    data = _file(path)
    _note(data, (), str(path), origin)
    for variable, keys in ENVIRONMENT.items():
        if os.environ.get(variable):
            _put(data, keys, os.environ[variable], f"environment {variable}", origin)
    for keys, value in (overrides or {}).items():
        _put(data, keys, value, "option", origin)
    for name in ("scale", "balancer"):
        section = data.get(name)
        if isinstance(section, dict):
            default = getattr(Settings(), name)
            data[name] = {"name": default.name, "profile": default.profile, **cast("dict[str, object]", section)}
    try:
        settings = Settings.model_validate(data)
    except ValidationError as fault:
        raise _complaint(path, fault) from fault
    if settings.keys:
        check_keys(path, settings.keys)
    return settings, origin


def _file(path: Path) -> dict[str, object]:
    if not path.exists():
        return {}
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
        raise SettingsError(str(path), found=str(fault), wanted="TOML in UTF-8", do="correct the file") from fault
    except OSError as fault:
        raise SettingsError(str(path), found=fault.strerror or "cannot be read", do="look at its rights") from fault


def _note(data: dict[str, object], keys: tuple[str, ...], words: str, origin: dict[str, str]) -> None:
    for key, value in data.items():
        if isinstance(value, dict):
            _note(cast("dict[str, object]", value), (*keys, key), words, origin)
        else:
            origin[".".join((*keys, key))] = words


def _put(data: dict[str, object], keys: tuple[str, ...], value: str, words: str, origin: dict[str, str]) -> None:
    place = data
    for key in keys[:-1]:
        found = place.get(key)
        inner: dict[str, object] = dict(cast("dict[str, object]", found)) if isinstance(found, dict) else {}
        place[key] = inner
        place = inner
    place[keys[-1]] = value
    origin[".".join(keys)] = words

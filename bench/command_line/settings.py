"""The shop's settings: TOML, read with file and field in every complaint, and where each value came from."""

from __future__ import annotations

import difflib
import os
import tomllib
from pathlib import Path
from typing import Annotated, cast

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from bench.models.job import Words
from bench.use_cases.errors import RefusedError

Text = Annotated[str, Field(max_length=400)]


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

    model_config = ConfigDict(extra="forbid", frozen=True)
    name: Words
    profile: Words
    url: Text = ""
    folder: Text = ""


class Settings(BaseModel):
    """All settings.

    Attributes
    ----------
    by : str
        Initials of who is usually at the bench.
    bench : str
        Name of this bench; the computer's name when empty.
    plugins : str
        Names of foreign drivers that may be loaded, with blanks between them; no other one ever is.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    by: Annotated[str, Field(max_length=12)] = ""
    bench: Annotated[str, Field(max_length=40)] = ""
    plugins: Text = ""
    scale: InstrumentSettings = InstrumentSettings(name="scale", profile="plain-stream")
    balancer: InstrumentSettings = InstrumentSettings(name="balancer", profile="keyed-block")


class SettingsError(RefusedError):
    """The settings file cannot be used as it is."""


ENVIRONMENT: dict[str, tuple[str, ...]] = {
    "SPINLEDGER_BY": ("by",),
    "SPINLEDGER_BENCH": ("bench",),
    "SPINLEDGER_SCALE": ("scale", "url"),
    "SPINLEDGER_SCALE_PROFILE": ("scale", "profile"),
    "SPINLEDGER_BALANCER_FOLDER": ("balancer", "folder"),
    "SPINLEDGER_BALANCER_PROFILE": ("balancer", "profile"),
}


def _known_keys(model: type[BaseModel]) -> list[str]:
    return list(model.model_fields)


def _complaint(path: Path, fault: ValidationError) -> SettingsError:
    first = fault.errors(include_url=False)[0]
    where = ".".join(str(part) for part in first["loc"])
    if first["type"] == "extra_forbidden":
        model = InstrumentSettings if len(first["loc"]) > 1 else Settings
        key = str(first["loc"][-1]) if first["loc"] else ""
        near = difflib.get_close_matches(key, _known_keys(model), n=1)
        wanted = f"did you mean '{near[0]}'?" if near else f"one of {', '.join(_known_keys(model))}"
        return SettingsError(f"{path}: {where}", found="a key that is not known", wanted=wanted, do="correct the file")
    return SettingsError(f"{path}: {where}", found=str(first["msg"]), do="correct the file")


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
    data: dict[str, object] = {}
    origin: dict[str, str] = {}
    if path.exists():
        try:
            data = tomllib.loads(path.read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as fault:
            raise SettingsError(str(path), found=str(fault), wanted="TOML in UTF-8", do="correct the file") from fault
        except OSError as fault:
            raise SettingsError(str(path), found=fault.strerror or "cannot be read", do="look at its rights") from fault
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
        return Settings.model_validate(data), origin
    except ValidationError as fault:
        raise _complaint(path, fault) from fault


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

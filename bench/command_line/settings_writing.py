"""Changes the settings file: only what was asked for changes, comments and order stay."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from bench.command_line.settings import FREE_TABLES, SettingsError, known_keys, nearest, read_settings

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

NEW_FILE = "# Settings of spinledger. `spinledger settings` shows all there are and where each value comes from.\n"


def key_path(key: str) -> tuple[str, ...]:
    """Return the tables and the key of a setting as it is typed.

    Parameters
    ----------
    key : str
        For example "scale.url", "keys.bench.skip".

    Returns
    -------
    tuple[str, ...]
        Tables first.

    Raises
    ------
    SettingsError
        When there is no such setting; with the nearest one.
    """
    table, _, rest = key.partition(".")
    if table in FREE_TABLES and rest:
        return table, rest
    if key not in known_keys() or key in FREE_TABLES:
        raise SettingsError(f"setting '{key}'", found="not known", wanted=nearest(key))
    return tuple(key.split("."))


def keep(path: Path, changes: Mapping[tuple[str, ...], str | None]) -> None:
    """Write settings, checked before anything is written.

    Parameters
    ----------
    path : Path
        The settings file; made when it is not there.
    changes : Mapping[tuple[str, ...], str | None]
        Value by path; None takes the setting out, so that the default counts again.

    Raises
    ------
    SettingsError
        When the file cannot be read or written, or a value is refused; the file is as it was.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        text = path.read_text(encoding="utf-8") if path.exists() else NEW_FILE
        document = tomlkit.parse(text)
    except (TOMLKitError, UnicodeDecodeError, OSError) as fault:
        raise SettingsError(str(path), found=str(fault), wanted="TOML in UTF-8", do="correct the file") from fault
    for keys, value in changes.items():
        _put(document, keys, value)
    _write_checked(path, tomlkit.dumps(document))


def _put(document: TOMLDocument, keys: tuple[str, ...], value: str | None) -> None:
    import tomlkit

    place = cast("dict[str, Any]", document)
    for name in keys[:-1]:
        if name not in place:
            if value is None:
                return
            place[name] = tomlkit.table()
        place = cast("dict[str, Any]", place[name])
    if value is None:
        place.pop(keys[-1], None)
    else:
        place[keys[-1]] = _typed(keys, value)


def _typed(keys: tuple[str, ...], value: str) -> str | float:
    """Return a number for a setting that is one, so that the file reads as a person would write it."""
    if keys[0] != "intake":
        return value
    try:
        return float(value.replace(",", "."))
    except ValueError:
        return value


def _write_checked(path: Path, text: str) -> None:
    aside = path.with_name(path.name + ".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with aside.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        try:
            read_settings(aside)
        except SettingsError as fault:
            message = SettingsError(fault.what.replace(str(aside), str(path)), found=fault.found, wanted=fault.wanted)
            raise message from fault
        aside.replace(path)
    except OSError as fault:
        raise SettingsError(str(path), found=fault.strerror or "cannot be written", do="look at its rights") from fault
    finally:
        with contextlib.suppress(OSError):
            aside.unlink(missing_ok=True)

"""Profiles to TOML files, so that what was learnt can be read, changed and kept."""

from __future__ import annotations

import os
from pathlib import Path

from drivers.balancers.balancer_profile import BalancerProfile
from drivers.profile import ProfileError, parse_profile
from drivers.scales.scale_profile import ScaleProfile


def profile_toml(profile: ScaleProfile | BalancerProfile) -> str:
    """Write a profile as TOML, without what has its usual value.

    Parameters
    ----------
    profile : ScaleProfile | BalancerProfile
        The profile.

    Returns
    -------
    str
        The text of a TOML file that reads as the same profile.

    Raises
    ------
    ProfileError
        If it would not read as the same profile.
    """
    import tomlkit

    data = profile.model_dump(mode="json", exclude_defaults=True)
    text = tomlkit.dumps({"name": profile.name, **_tidy(data)})
    if parse_profile(text.encode(), type(profile), where=profile.name) != profile:
        raise ProfileError(where=profile.name, field="", found="a profile that TOML cannot hold", wanted="plain text")
    return text


def _tidy(data: dict[str, object]) -> dict[str, object]:
    """Put plain values before tables, as TOML wants them."""
    kept = {name: value for name, value in data.items() if value is not None}
    return dict(sorted(kept.items(), key=lambda item: isinstance(item[1], (dict, list))))


def save_profile(profile: ScaleProfile | BalancerProfile, folder: Path) -> Path:
    """Save a profile under its name; a file of that name is never overwritten.

    Parameters
    ----------
    profile : ScaleProfile | BalancerProfile
        The profile.
    folder : Path
        The user's folder of profiles; made when missing.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    FileExistsError
        If there is a profile of that name.
    """
    text = profile_toml(profile)
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{profile.name}.toml"
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
    with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    return path

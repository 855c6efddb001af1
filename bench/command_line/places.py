"""Where things live on this computer. `SPINLEDGER_HOME` moves all of it."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Places:
    """Folders and files of the program.

    Attributes
    ----------
    home : Path
        Everything lives below it.
    record : Path
        The record.
    settings : Path
        The settings file.
    certificates : Path
        Certificates and exports.
    profiles : Path
        The shop's own instrument profiles.
    stations : Path
        Stations of crank types, to take again.
    templates : Path
        Intakes with names of the shop's own, to begin jobs with.
    """

    home: Path

    @property
    def record(self) -> Path:
        """The record."""
        return self.home / "record.db"

    @property
    def settings(self) -> Path:
        """The settings file."""
        return self.home / "settings.toml"

    @property
    def certificates(self) -> Path:
        """Certificates and exports."""
        return self.home / "certificates"

    @property
    def profiles(self) -> Path:
        """The shop's own instrument profiles."""
        return self.home / "profiles"

    @property
    def stations(self) -> Path:
        """Stations of crank types, to take again."""
        return self.home / "stations"

    @property
    def templates(self) -> Path:
        """Intakes with names of the shop's own, to begin jobs with."""
        return self.home / "templates"

    @property
    def key(self) -> Path:
        """What this bench signs with; readable to its owner only."""
        return self.home / "signing-key.json"

    @property
    def others(self) -> Path:
        """A copy of what other benches shipped, to read when the network is down."""
        return self.home / "others.db"

    @property
    def live(self) -> Path:
        """The newest moment of the bench, written while a wall screen asks for it."""
        return self.home / "live.view"

    @property
    def demo(self) -> Places:
        """A place of its own for the simulated bench."""
        return Places(self.home / "demo")


def find_places() -> Places:
    """Return where things live.

    Returns
    -------
    Places
        Below `SPINLEDGER_HOME` when that is set, else the user's data folder.
    """
    moved = os.environ.get("SPINLEDGER_HOME")
    if moved:
        return Places(Path(moved).expanduser())
    import platformdirs

    return Places(Path(platformdirs.user_data_dir("spinledger", appauthor=False)))

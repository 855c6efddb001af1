"""Sees a battery or an uninterruptible supply run low, and has copies made before the power is gone."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

LOW_PERCENT = 10
SUPPLIES = Path("/sys/class/power_supply")


@dataclass(frozen=True, slots=True)
class Power:
    """What the system tells of its supply.

    Attributes
    ----------
    on_mains : bool
        The mains are there, or nothing is known of a battery.
    percent : int
        Charge of the emptiest battery; 100 where there is none. [%]
    """

    on_mains: bool = True
    percent: int = 100

    @property
    def low(self) -> bool:
        """The power may be gone soon."""
        return not self.on_mains and self.percent <= LOW_PERCENT


def power_now(supplies: Path = SUPPLIES) -> Power:
    """Return the supply as the system tells it.

    Parameters
    ----------
    supplies : Path
        Where Linux tells of supplies.

    Returns
    -------
    Power
        On mains where nothing is told.
    """
    if sys.platform == "win32":  # pragma: no cover - on Windows only
        return _windows_power()
    batteries: list[int] = []
    discharging = False
    try:
        entries = sorted(supplies.iterdir())
    except OSError:
        return Power()
    for entry in entries:
        if _word(entry / "type") not in {"Battery", "UPS"} or _word(entry / "scope") == "Device":
            continue  # a mouse's battery is not the computer's
        charge = _word(entry / "capacity")
        if charge.isdigit():
            batteries.append(min(int(charge), 100))
            discharging = discharging or _word(entry / "status") == "Discharging"
    return Power(on_mains=not discharging, percent=min(batteries, default=100))


def _word(path: Path) -> str:
    try:
        return path.read_text(encoding="ascii", errors="replace").strip()
    except OSError:
        return ""


def _windows_power() -> Power:  # pragma: no cover - on Windows only
    import ctypes

    if sys.platform != "win32":
        return Power()
    told = (ctypes.c_ubyte * 12)()
    if not ctypes.windll.kernel32.GetSystemPowerStatus(told):
        return Power()
    mains, percent = int(told[0]), int(told[2])
    return Power(on_mains=mains != 0, percent=min(percent, 100))


class PowerWatch:
    """Is asked now and then; once an episode of low power it has copies made.

    Parameters
    ----------
    save : Callable[[], str]
        Makes the copies and says in words what came of it.
    look : Callable[[], Power]
        Asks the system.
    """

    def __init__(self, save: Callable[[], str], *, look: Callable[[], Power] = power_now) -> None:
        self._save, self._look = save, look
        self._saved = ""
        self.words = ""

    def glance(self) -> None:
        """Look once."""
        power = self._look()
        if not power.low:
            self.words, self._saved = "", ""
            return
        if not self._saved:
            self._saved = self._save() or "saved"
        self.words = f"the battery has {power.percent} % left: {self._saved}; plug the mains in"

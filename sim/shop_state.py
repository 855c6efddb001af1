"""What a shop remembers between two starts: bobweights, cuts really made, spins shown. Saved whole or not at all."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, cast

from sim.balancer import write_whole

_VERSION = 1


class ShopStateError(Exception):
    """A state file cannot be used.

    Parameters
    ----------
    path : Path
        The file.
    found : str
        What is wrong with it.
    """

    def __init__(self, path: Path, found: str) -> None:
        super().__init__(f"state file {path}: {found}")
        self.path = path
        self.found = found


@dataclass(frozen=True, slots=True)
class CutMade:
    """One hole, as asked for and as it came out.

    Attributes
    ----------
    plane : str
        ``front`` or ``rear``.
    station : int
        Which of the drill's places, from 1.
    tag : str
        What the one who asked called it.
    asked_angle_deg : float
        As asked. [deg]
    asked_grams : float
        As asked, at the correction radius. [g]
    angle_deg : float
        As made. [deg]
    grams : float
        As made. [g]
    z_mm : float
        Where along the shaft. [mm]
    after_run : int
        Last run before it; 0 before the first.
    """

    plane: str
    station: int
    tag: str
    asked_angle_deg: float
    asked_grams: float
    angle_deg: float
    grams: float
    z_mm: float
    after_run: int


@dataclass(slots=True)
class ShopState:
    """What has been done in a shop.

    Attributes
    ----------
    world : str
        Name of the world.
    seed : int
        Its seed.
    starts : int
        How often the shop has been started.
    bobweights_kg : dict[int, float]
        True mass of each finished bobweight. [kg]
    cuts : list[CutMade]
        Every hole.
    spins : dict[int, str]
        The text of every run.
    mishaps : list[dict[str, object]]
        What went wrong on purpose.
    """

    world: str
    seed: int
    starts: int = 0
    bobweights_kg: dict[int, float] = field(default_factory=dict[int, float])
    cuts: list[CutMade] = field(default_factory=list[CutMade])
    spins: dict[int, str] = field(default_factory=dict[int, str])
    mishaps: list[dict[str, object]] = field(default_factory=list[dict[str, object]])

    @property
    def last_run(self) -> int:
        """Number of the last run; 0 before the first."""
        return max(self.spins, default=0)

    def save(self, path: Path) -> None:
        """Save it whole or not at all.

        Parameters
        ----------
        path : Path
            The state file.
        """
        document = {"version": _VERSION, **asdict(self)}
        write_whole(path, json.dumps(document, indent=1) + "\n")


def load_state(path: Path, *, world: str, seed: int) -> ShopState:
    """Load the state of a shop, or begin anew when there is none.

    Parameters
    ----------
    path : Path
        The state file.
    world : str
        Name of the world that is wanted.
    seed : int
        Its seed.

    Returns
    -------
    ShopState
        What has been done.

    Raises
    ------
    ShopStateError
        If the file cannot be read or belongs to another world.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ShopState(world, seed)
    except OSError as fault:
        raise ShopStateError(path, f"cannot be read ({fault.strerror})") from fault
    try:
        found = cast("dict[str, Any]", json.loads(text))
        version = found.pop("version")
        state = ShopState(
            world=str(found["world"]),
            seed=int(found["seed"]),
            starts=int(found["starts"]),
            bobweights_kg={int(throw): float(mass) for throw, mass in found["bobweights_kg"].items()},
            cuts=[CutMade(**cut) for cut in found["cuts"]],
            spins={int(run): str(shown) for run, shown in found["spins"].items()},
            mishaps=list(found["mishaps"]),
        )
    except (ValueError, KeyError, TypeError, AttributeError) as fault:
        raise ShopStateError(path, f"is no state of a shop ({type(fault).__name__})") from fault
    if version != _VERSION:
        raise ShopStateError(path, f"has version {version}, wanted {_VERSION}")
    if (state.world, state.seed) != (world, seed):
        raise ShopStateError(
            path, f"belongs to world {state.world} with seed {state.seed}, asked for {world} with seed {seed}"
        )
    return state

"""The whole shop in one process: scale, operator, crank, balancing machine and drill."""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Generator
from pathlib import Path

import numpy as np

from sim.balancer import write_whole
from sim.bobweights import Bobweights
from sim.conditions import Condition
from sim.instructions import Cut, Instruction, Lay, Make, Spin
from sim.machining import Machining
from sim.mishaps import Mishaps
from sim.operator import Operator, Say
from sim.scale import Scale
from sim.shop_state import ShopState
from sim.worlds import World


class Shop:
    """One shop with one operator, told what to do and gone on with step by step.

    Parameters
    ----------
    world : World
        Parts and crank.
    state : ShopState
        What has been done before; it is kept up to date.
    condition : Condition
        Surroundings of the scale.
    folder : Path
        Where the balancing machine leaves its texts.
    state_path : Path | None
        Where the state is saved after each act; None for nowhere.
    mishap_rate : float
        Share of layings that go wrong.
    say : Say
        Told of each thing done.
    """

    def __init__(
        self,
        world: World,
        state: ShopState,
        *,
        condition: Condition,
        folder: Path,
        state_path: Path | None,
        mishap_rate: float,
        say: Say,
    ) -> None:
        self._world = world
        self._state = state
        self._state_path = state_path
        self._say = say
        state.starts += 1
        rng = np.random.default_rng((world.seed, 202, state.starts))
        for_scale, for_hands, for_bobweights, for_mishaps, for_crank, self._rng = rng.spawn(6)
        self.scale = Scale(condition, for_scale)
        self.machining = Machining(world, state, folder, for_crank)
        self._bobweights = Bobweights(state.bobweights_kg, for_bobweights, self.save)
        self.operator = Operator(
            self.scale,
            world.parts,
            self._bobweights,
            Mishaps(mishap_rate, for_mishaps),
            rng=for_hands,
            say=say,
        )
        self.operator.diary = state.mishaps
        self._heavy: deque[Spin | Cut] = deque()
        self._current: Spin | Cut | None = None
        self._working: Generator[float, None, None] | None = None
        self._wake_s = 0.0
        self.save()

    @property
    def busy(self) -> bool:
        """Whether anything is in hand or waiting."""
        return self.operator.busy or self._working is not None or bool(self._heavy)

    def tell(self, instruction: Instruction) -> str | None:
        """Tell the operator something.

        Parameters
        ----------
        instruction : Instruction
            What he shall do.

        Returns
        -------
        str | None
            Why nothing is to be done; None when he will do it.
        """
        if isinstance(instruction, Lay) and not self.operator.knows(instruction):
            return f"there is no {instruction.kind} {instruction.place} in this shop"
        if isinstance(instruction, Make) and instruction.throw > len(self._world.crank.design.pins_m):
            return f"this crank has no throw {instruction.throw}"
        if isinstance(instruction, Spin | Cut):
            return self._tell_heavy(instruction)
        return self.operator.answer_to(instruction)

    def step(self) -> None:
        """Let operator and machines go on; the scale is advanced by whoever owns the line."""
        now_s = self.scale.now_s
        self.operator.step(now_s)
        if now_s < self._wake_s:
            return
        if self._working is None:
            if not self._heavy or self.operator.busy:
                return
            self._current = self._heavy.popleft()
            self._working = self._spin(self._current) if isinstance(self._current, Spin) else self._cut(self._current)
        try:
            self._wake_s = now_s + next(self._working)
        except StopIteration:
            self._working = None
            self._current = None

    def drop_all(self) -> None:
        """Let everything go: the shop closes."""
        self.operator.drop_all()
        self._heavy.clear()
        self._working = None

    def unplug_wish_s(self) -> float:
        """Return for how long the cable comes out by accident, once.

        Returns
        -------
        float
            0 for not at all. [s]
        """
        wish_s, self.operator.unplug_for_s = self.operator.unplug_for_s, 0.0
        return wish_s

    def save(self) -> None:
        """Save the state, where it is to be saved."""
        if self._state_path is not None:
            self._state.save(self._state_path)

    def truth(self) -> dict[str, object]:
        """Return all that is true of this shop.

        Returns
        -------
        dict[str, object]
            Masses in grams, residuals, spins, cuts and mishaps.
        """
        parts = self._world.parts
        return {
            "world": self._world.name,
            "seed": self._world.seed,
            "parts_g": {f"{kind} {place}": mass * 1000.0 for (kind, place), mass in sorted(parts.true_kg.items())},
            "odd_ones": {"heavy_piston": parts.heavy_piston, "heavy_rod": parts.heavy_rod},
            "needs_g": {str(throw): mass * 1000.0 for throw, mass in self._world.needs_kg().items()},
            "bobweights_g": {str(throw): mass * 1000.0 for throw, mass in sorted(self._state.bobweights_kg.items())},
            **self.machining.truth(),
            "mishaps": self._state.mishaps,
        }

    def write_truth(self, path: Path) -> None:
        """Write the truth whole or not at all.

        Parameters
        ----------
        path : Path
            The truth file.
        """
        write_whole(path, json.dumps(self.truth(), indent=1, allow_nan=False) + "\n")

    def _tell_heavy(self, instruction: Spin | Cut) -> str | None:
        if instruction == self._current or instruction in self._heavy:
            return "already at it"
        if isinstance(instruction, Cut) and not self._heavy and self.machining.already_cut(instruction):
            self._say({**_did_cut(instruction), "already": True})
            return None
        self._heavy.append(instruction)
        return None

    def _spin(self, wanted: Spin) -> Generator[float, None, None]:
        if wanted.run not in self._state.spins:
            yield float(self._rng.uniform(4.0, 7.0))
        path = self.machining.spin(wanted.run)
        self.save()
        self._say({"did": {"spin": {"run": wanted.run, "file": path.name}}})

    def _cut(self, wanted: Cut) -> Generator[float, None, None]:
        yield float(self._rng.uniform(3.0, 6.0))
        self.machining.cut(wanted)
        self.save()
        self._say(_did_cut(wanted))


def _did_cut(cut: Cut) -> dict[str, object]:
    return {"did": {"cut": {"plane": cut.plane, "angle_deg": cut.angle_deg, "grams": cut.grams}}}

"""A scale alone and a balancing machine alone, for trying one link at a time."""

from __future__ import annotations

from collections.abc import Generator
from pathlib import Path
from typing import TextIO

import numpy as np

from sim.bobweights import Bobweights
from sim.instructions import Cut, End, Instruction, InstructionError, Lay, Make, Spin, Taken, read_instruction
from sim.live import say as say_aloud
from sim.machining import Machining
from sim.mishaps import Mishaps
from sim.operator import Operator, Say
from sim.parts import V8_RECIPE, draw_parts
from sim.scale import Scale
from sim.shop_state import ShopState
from sim.worlds import World

_PLAYED = ("piston", "pin", "rings", "rod_whole")


class LoneScale:
    """A scale with somebody at it who plays a few parts until he is told something.

    Parameters
    ----------
    scale : Scale
        The scale.
    rng : np.random.Generator
        Source of chance.
    plays : bool
        Whether parts are laid without being told.
    say : Say
        Told of each thing done.
    """

    def __init__(self, scale: Scale, rng: np.random.Generator, *, plays: bool, say: Say) -> None:
        parts, hands, shims, chance = rng.spawn(4)
        self._scale = scale
        self._operator = Operator(
            scale,
            draw_parts(V8_RECIPE, parts),
            Bobweights({}, shims, lambda: None),
            Mishaps(0.0, chance),
            rng=hands,
            say=say,
        )
        self._playing = self._play() if plays else None
        self._wake_s = 3.0

    @property
    def busy(self) -> bool:
        """Whether anything is in hand."""
        return self._operator.busy

    def tell(self, instruction: Instruction) -> str | None:
        """Tell the one at the scale something; he stops playing.

        Parameters
        ----------
        instruction : Instruction
            What he shall do.

        Returns
        -------
        str | None
            Why nothing is to be done.
        """
        self._playing = None
        if isinstance(instruction, Spin | Cut):
            return "there is no balancing machine here"
        if isinstance(instruction, Lay) and not self._operator.knows(instruction):
            return f"there is no {instruction.kind} {instruction.place} here"
        if isinstance(instruction, Make) and instruction.throw > 8:
            return "there are no more than eight bobweights here"
        return self._operator.answer_to(instruction)

    def step(self) -> None:
        """Go on by one step."""
        self._operator.step(self._scale.now_s)
        if self._playing is not None and not self._operator.busy and self._scale.now_s >= self._wake_s:
            self._wake_s = self._scale.now_s + next(self._playing)

    def drop_all(self) -> None:
        """Let everything go."""
        self._operator.drop_all()

    def unplug_wish_s(self) -> float:
        """Return for how long the cable comes out by accident.

        Returns
        -------
        float
            Always 0: nobody stumbles here. [s]
        """
        return 0.0

    def _play(self) -> Generator[float, None, None]:
        place = 0
        while True:
            place = place % 8 + 1
            for kind in _PLAYED:
                self._operator.tell(Lay(kind, place))
                yield 5.0
                self._operator.tell(Taken())
                yield 2.5


def run_balancer(folder: Path, world: World, source: TextIO) -> int:
    """Run a balancing machine with a crank on ideal bobweights, told by JSON lines.

    Parameters
    ----------
    folder : Path
        Where its texts are left.
    world : World
        Whose crank turns.
    source : TextIO
        Where the instructions come from.

    Returns
    -------
    int
        0.
    """
    state = ShopState(world.name, world.seed, bobweights_kg=world.needs_kg())
    machining = Machining(world, state, folder, np.random.default_rng((world.seed, 606)))
    folder.mkdir(parents=True, exist_ok=True)
    say_aloud({"ready": {"folder": str(folder)}})
    for line in source:
        if not line.strip():
            continue
        try:
            instruction = read_instruction(line)
        except InstructionError as fault:
            say_aloud({"refused": {"line": line.strip()[:200], "why": fault.why}})
            continue
        match instruction:
            case Spin():
                path = machining.spin(instruction.run)
                say_aloud({"did": {"spin": {"run": instruction.run, "file": path.name}}})
            case Cut() if not machining.already_cut(instruction):
                machining.cut(instruction)
                say_aloud({"did": {"cut": {"plane": instruction.plane}}})
            case End():
                return 0
            case _:
                say_aloud({"nothing": {"line": line.strip()[:200], "why": "a balancing machine cannot do this"}})
    return 0

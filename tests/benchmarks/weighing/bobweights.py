"""Bobweights brought to their number: how many are taken, how soon, and what they truly weigh.

A simulated person adds and takes off shims until the middle of the display's flicker is the number, looks again when
no tone comes, and gives up after a minute and a half.

python tests/benchmarks/weighing/bobweights.py --jobs 30 --seed 12
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Generator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from whole_sheets import QUIET, TYPICAL, JobPlay, Scenario

from bench.capture.decisions import Advised, Asked, Decision, Doubted, Expected, Lifted, Taken
from sim.bobweights import Bobweights
from sim.conditions import CONDITIONS, Condition

THROWS = 4
BAND_G = 0.1
PATIENCE_S = 90.0
LOOKS_AGAIN_S = 15.0
TARGETS_G = (1500.0, 2400.0)
SHOPS: dict[str, Condition] = {
    "quiet bench": QUIET,
    "typical shop": TYPICAL,
    "strong vibration": CONDITIONS["C3"],
    "draught": CONDITIONS["C4"],
}


@dataclass(frozen=True, slots=True)
class Made:
    """How one bobweight went.

    Attributes
    ----------
    taken : bool
        A value was taken before patience ended.
    within : bool
        The value that is kept is within the band.
    doubtful : bool
        It is shown as uncertain.
    told : bool
        Words or a question came while it was not taken.
    waited_s : float
        From the last look that found the number to the tone; 0 when it came sooner. [s]
    off_g : float
        True mass less the number. [g]
    """

    taken: bool
    within: bool
    doubtful: bool
    told: bool
    waited_s: float
    off_g: float


class BobweightPlay(JobPlay):
    """A short sheet, from which the scale's noise is learnt, then the bobweights."""

    def __init__(self, shop: Condition, seed: int) -> None:
        self.sheet_done = False
        super().__init__(Scenario("bobweights", shop), seed)
        self.cells = [cell for cell in self.cells if cell[0] in {"pin", "rings"} and cell[1] <= 6]
        self.values = {}
        self.heard: list[Decision] = []
        self.hands = Bobweights({}, np.random.default_rng([seed, 79]), lambda: None)
        self.expect_next()

    def expect_next(self) -> None:
        """Tell the machine which cell is next; bobweights are told one by one."""
        if self.sheet_done:
            self.machine.expect(None)
        else:
            super().expect_next()

    def hear(self, decision: Decision) -> None:
        """Keep what the machine decides."""
        super().hear(decision)
        if isinstance(decision, Taken | Lifted | Doubted | Advised | Asked):
            self.heard.append(decision)

    def follow(self, waits: Generator[float, None, Any]) -> Any:
        """Let time pass as the hands say; return what they found."""
        while True:
            try:
                seconds = next(waits)
            except StopIteration as end:
                return end.value
            self.run(seconds)

    def bobweights(self) -> list[Made]:
        """Make one for every throw."""
        self.sheet_done, self.due = True, None
        return [self.make(throw) for throw in range(1, THROWS + 1)]

    def make(self, throw: int) -> Made:
        """Make one, and lift it when the tone has come or patience has ended."""
        target = round(float(self.rng.uniform(*TARGETS_G)), 3)
        key = f"bobweight {throw}"
        self.machine.expect(Expected(key=key, kind="bobweight", label=key, target_g=target, band_g=BAND_G))
        self.heard.clear()
        empty_shows_g = self.follow(self.hands.read(self.scale)) or 0.0
        self.scale.lay(self.hands.begin(throw, target / 1000.0))
        began_s = found_s = self.scale.now_s
        while not self.tone() and self.scale.now_s - began_s < PATIENCE_S:
            looking = self.hands.bring_to(throw, target + empty_shows_g, self.scale, heard=lambda: bool(self.tone()))
            self.follow(looking)
            found_s = self.scale.now_s
            self.run(LOOKS_AGAIN_S, until=(Taken,))
        taken, told = self.tone(), any(isinstance(d, Advised | Asked) for d in self.heard)
        truly_g = 1000.0 * self.scale.load_kg - target
        self.run(0.6)
        self.scale.lift()
        self.run(2.5)
        if taken is None:
            return Made(taken=False, within=False, doubtful=False, told=told, waited_s=PATIENCE_S, off_g=truly_g)
        final = next((d.final for d in self.heard if isinstance(d, Lifted) and d.final), taken)
        doubted = any(isinstance(d, Doubted) for d in self.heard)
        return Made(
            taken=True,
            within=not doubted and abs(float(final.grams) - target) <= BAND_G + 1e-9,
            doubtful=final.doubtful,
            told=told,
            waited_s=max(0.0, taken.at_ns / 1e9 - found_s),
            off_g=truly_g,
        )

    def tone(self) -> Taken | None:
        """Return what was taken, once it was."""
        return next((d for d in self.heard if isinstance(d, Taken)), None)


def line(name: str, made: Sequence[Made]) -> str:
    """Return a row of the table."""
    kept = [m for m in made if m.within]
    silent = sum(not m.taken and not m.told for m in made)
    waits = [m.waited_s for m in made if m.taken]
    off = np.abs([m.off_g for m in kept])
    return (
        f"| {name} | {len(made)} | {sum(m.taken for m in made) / len(made):.1%} | {silent} | {len(kept) / len(made):.1%} "
        f"| {sum(m.doubtful for m in kept) / max(1, len(kept)):.1%} | {np.median(waits):.1f} ({np.quantile(waits, 0.9):.1f}) "
        f"| {np.mean(off > 0.15):.1%} / {np.mean(off > 0.25):.1%} |"
    )


HEAD = (
    "| shop | bobweights | taken | not taken and nothing said | kept within the band | of these shown as uncertain "
    "| s to the tone, median (90 %) | truly off by more than 0.15 / 0.25 g |\n|---|---|---|---|---|---|---|---|"
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=30)
    parser.add_argument("--seed", type=int, default=12)
    asked = parser.parse_args(arguments)
    print(HEAD, flush=True)
    for name, shop in SHOPS.items():
        made: list[Made] = []
        for job in range(asked.jobs):
            play = BobweightPlay(shop, asked.seed * 1000 + job)
            play.play()
            made += play.bobweights()
        print(line(name, made), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())

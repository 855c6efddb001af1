"""Hands-free weighing beside what nobody can beat, and beside a pencil."""

from __future__ import annotations

import statistics
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from rows import Row

sys.path.insert(0, str(Path(__file__).parents[1] / "weighing"))

from single_placements import play
from whole_sheets import SCENARIOS, JobPlay

from bench.capture.decisions import Taken

SEED = 20_470_300
TYPED_S = 2.5
"""What writing and typing one value takes. [s]"""
SLIP = 0.004
"""Share of typed values with a slip."""
LOOKED_AT_S = 1.0
"""How long a person wants to see the display stand before he believes it. [s]"""
EYE_S = 0.25
PARTS_PER_JOB = 56


def _to_the_tone(_folder: Path) -> Iterator[tuple[float, float]]:
    """From the moment the part has truly settled: our tone, and the earliest that anybody could know."""
    for turn in range(3):
        ours, seers = [], []
        for outcome in play("C2", seed=SEED + turn, count=200):
            seer = outcome.plain.get("all-knowing, 1 s")
            if outcome.taken_s is None or seer is None:
                continue
            ours.append(outcome.taken_s - outcome.truth.settled_s)
            seers.append(seer[0] - outcome.truth.settled_s)
        yield statistics.median(ours), statistics.median(seers)


class PencilPlay(JobPlay):
    """The same operator on the same scale, who reads the display, writes, types, and presses a key for the next."""

    slips = 0

    def wait(self, key: str) -> bool:
        """Wait until the display stands for a second, then write and type it."""
        seen, since = self.scale.shown.value, self.scale.now_s
        while self.scale.now_s - since < LOOKED_AT_S:
            self.look(EYE_S)
            value, division = self.scale.shown.value, 10.0**-self.scale.shown.decimals
            if value is None or seen is None or abs(value - seen) > 1.5 * division:
                seen, since = value, self.scale.now_s
        self.look(TYPED_S)
        self.slips += self.rng.random() < SLIP
        self.values[key] = float(seen or 0.0)
        self.expect_next()
        return True

    def look(self, seconds: float) -> None:
        """Let the scale go on; nothing listens to it."""
        end = self.scale.now_s + seconds
        while self.scale.now_s < end:
            self.scale.advance()


def _seconds_a_part(_folder: Path) -> Iterator[tuple[float, float]]:
    """Simulated seconds a part, over whole sheets without a mishap."""
    slips = wrong = far = ours_far = 0
    scenario = replace(SCENARIOS["typical"], name="by hand")
    for turn in range(5):
        seed = SEED + 10 + turn
        sheet = JobPlay(scenario, seed).play()
        pencil = PencilPlay(scenario, seed)
        written = pencil.play()
        slips += pencil.slips
        off = 2.0 * 10.0 ** -sheet_decimals(pencil)
        far += sum(abs(grams - pencil.sheet.masses[key]) > off for key, grams in pencil.values.items())
        ours_far += sum(abs(kept.value.refined_g - kept.truly_g) > off for kept in sheet.kept.values())
        wrong += sum(kept.truly_on != (key,) for key, kept in sheet.kept.items())
        assert len(sheet.kept) == sheet.cells == PARTS_PER_JOB
        assert all(isinstance(kept.value, Taken) for kept in sheet.kept.values())
        yield sheet.seconds / sheet.cells, written.seconds / written.cells
    assert wrong == 0, "a value stands in the wrong cell"
    told = f"of {5 * PARTS_PER_JOB}: slips {slips}, beyond two divisions {far}; hands-free: {wrong} and {ours_far}"
    print(f"<!-- pencil, {told} -->", file=sys.stderr)


def sheet_decimals(play: JobPlay) -> int:
    """Decimals that the scale shows."""
    return play.scale.shown.decimals


ROWS = [
    Row(
        "a part has settled, until its tone",
        "an all-knowing observer with a second's mean",
        "at most",
        1.5,
        _to_the_tone,
    ),
    Row("hands-free, a part", "the same hands with pencil and keys", "at most", 0.6, _seconds_a_part),
]

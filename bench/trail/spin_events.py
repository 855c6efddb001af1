"""Events about spinning: index runs, the check of a machine's angles, what is mounted, the next rotor of a set."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bench.models.job import MOST_PARTS, Finite, Name, Positive, Stage, Words
from bench.trail.payload import Payload


class RunIndexed(Payload):
    """A run was made with the bobweight set (or the fixture) turned; with the run `against` it tells both apart.

    `spin` and `against` are events of runs; `turned_deg` is how far the set was turned between them.
    """

    kind: Literal["run-indexed"] = "run-indexed"
    version: Literal[1] = 1
    spin: str
    against: str
    turned_deg: Finite


class AnglesChecked(Payload):
    """What a machine's angles mean was checked with a known mass, fastened at known angles in one plane.

    `runs` are the events of the runs, the one without the mass first; those with it are not the rotor's own.
    `agrees` says that the profile was right; the other fields are what the runs say.
    """

    kind: Literal["angles-checked"] = "angles-checked"
    version: Literal[1] = 1
    instrument: Words
    plane: Name
    mass_g: Positive
    at_deg: Annotated[tuple[Finite, ...], Field(min_length=2, max_length=8)]
    runs: Annotated[tuple[str, ...], Field(min_length=3, max_length=9)]
    agrees: bool
    turned_by_deg: Finite
    mirrored: bool
    share_shown: Positive
    far_share: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    misfit_g: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    words: Annotated[str, Field(max_length=1000)] = ""


class PartsMounted(Payload):
    """Which of the parts that belong on the crank are on it: from now on, or in a run that is named.

    `spin` is the event of a run for which it was said otherwise before, or not at all.
    """

    kind: Literal["parts-mounted"] = "parts-mounted"
    version: Literal[1] = 1
    mounted: Annotated[tuple[Name, ...], Field(max_length=MOST_PARTS)]
    spin: str | None = None
    reason: Words = ""


class RotorBegun(Payload):
    """The next rotor of the set is balanced from here on; what was spun and cut before is frozen.

    `inside` is what the last run of the rotor before said; `words` why it was left when it was not inside.
    """

    kind: Literal["rotor-begun"] = "rotor-begun"
    version: Literal[1] = 1
    rotor: Stage
    inside: bool
    words: Words = ""


class RotorWithdrawn(Payload):
    """The beginning of a rotor was taken back, before anything was spun or cut: the one before it goes on."""

    kind: Literal["rotor-withdrawn"] = "rotor-withdrawn"
    version: Literal[1] = 1
    withdraws: str
    reason: Words


SpinEvents = RunIndexed | AnglesChecked | PartsMounted | RotorBegun | RotorWithdrawn

"""Events about runs that are not the rotor's alone: index runs, and the check of what a machine's angles mean."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from bench.models.job import Finite, Name, Positive, Words
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

"""Which foreign drivers may run: those that are named, as they were when they were named."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Permits:
    """What the settings say of foreign drivers.

    Attributes
    ----------
    files : Mapping[str, str]
        By the name of each driver that may run, the fingerprint it had when it was allowed; empty when the settings
        do not say.
    safe_mode : bool
        The program was started without any foreign driver.
    """

    files: Mapping[str, str] = field(default_factory=dict[str, str])
    safe_mode: bool = False


NOBODY = Permits()
"""No foreign driver may run."""

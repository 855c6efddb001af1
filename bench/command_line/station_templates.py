"""Stations of crank types, kept beside the record as JSON files that a person can read and carry to another bench."""

from __future__ import annotations

import re
from pathlib import Path

from pydantic import ValidationError

from bench.models.stations import StationSet

LARGEST_FILE = 200_000
MOST_TEMPLATES = 200


class StationTemplates:
    """One file a crank type in one folder.

    Parameters
    ----------
    folder : Path
        Made when the first one is kept.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def all(self) -> tuple[StationSet, ...]:
        """Return every template that can be read, by name.

        Returns
        -------
        tuple[StationSet, ...]
            A damaged file is passed over.
        """
        found: list[StationSet] = []
        for path in sorted(self._folder.glob("*.json"))[:MOST_TEMPLATES]:
            try:
                if path.stat().st_size <= LARGEST_FILE:
                    found.append(StationSet.model_validate_json(path.read_bytes()))
            except (OSError, ValidationError):
                continue
        return tuple(sorted(found, key=lambda s: s.crank_type))

    def keep(self, stations: StationSet) -> str:
        """Keep a template under its crank type; an older one of that type gives way.

        Parameters
        ----------
        stations : StationSet
            What to keep. Holes that are there belong to one crank and are left out.

        Returns
        -------
        str
            What is wrong; empty when it is kept.
        """
        bare = stations.model_copy(
            update={"stations": tuple(s.model_copy(update={"holes": ()}) for s in stations.stations), "measured": False}
        )
        name = re.sub(r"[^\w-]+", "-", stations.crank_type).strip("-") or "crank"
        path = self._folder / f"{name}.json"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            part = path.with_suffix(".part")
            part.write_text(bare.model_dump_json(indent=1) + "\n", encoding="utf-8")
            part.replace(path)
        except OSError as fault:
            return f"the template is not kept: {fault.strerror or fault}"
        return ""

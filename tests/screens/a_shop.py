"""A computer for the dashboard that keeps what it is told and gives what a test wants."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from bench.screens.shop import HeardNow, IntakeStart, PortLine
from bench.use_cases.bring_in import Sheet
from bench.use_cases.job_templates import JobTemplate


class AHearing:
    def __init__(self, shop: AShop, url: str) -> None:
        self._shop, self._url = shop, url

    def now(self) -> HeardNow:
        return self._shop.heard

    def keep(self) -> str:
        self._shop.kept[("scale", "url")] = self._url
        return self._shop.trouble

    def stop(self) -> None:
        self._shop.stopped.append(self._url)


class AShop:
    def __init__(self, intake: IntakeStart | None = None) -> None:
        self.intake = intake or IntakeStart(oil_g=5.0, radius_mm=90.0)
        self.columns: Mapping[str, str] = {}
        self.names: Sequence[str] = ()
        self.kept_templates: list[JobTemplate] = []
        self.kept: dict[tuple[str, ...], str] = {}
        self.there: list[PortLine] = []
        self.heard = HeardNow("listening")
        self.trouble = ""
        self.stopped: list[str] = []
        self.sheet = Sheet("weights.csv", (("cylinder", "piston"), ("1", "586.4"), ("2", "abc")))

    def templates(self) -> Sequence[JobTemplate]:
        return tuple(self.kept_templates)

    def keep_template(self, template: JobTemplate, *, replace: bool) -> str:
        there = [one for one in self.kept_templates if one.name == template.name]
        if there and not replace:
            return "there already"
        self.kept_templates = [one for one in self.kept_templates if one.name != template.name] + [template]
        return self.trouble

    def ports(self) -> Sequence[PortLine]:
        return tuple(self.there)

    def hear(self, url: str) -> AHearing:
        return AHearing(self, url)

    def keep(self, changes: Mapping[tuple[str, ...], str]) -> str:
        self.kept |= changes
        return self.trouble

    def read_sheet(self, path: Path) -> Sheet:
        return self.sheet

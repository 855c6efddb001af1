"""The computer as the dashboard knows it: ports, the settings file, sheets on the disk."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bench.command_line.places import Places
from bench.command_line.settings import Settings, split_names
from bench.command_line.settings_writing import keep
from bench.screens.shop import Hearing, IntakeStart, PortLine
from bench.use_cases.errors import RefusedError

if TYPE_CHECKING:
    from bench.use_cases.bring_in import Sheet
    from bench.use_cases.job_templates import JobTemplate


class ThisComputer:
    """What the dashboard may ask for.

    Parameters
    ----------
    places : Places
        Where the settings and profiles are.
    settings : Settings
        As they were read at the start.
    """

    def __init__(self, places: Places, settings: Settings) -> None:
        self._places = places
        self._settings = settings
        self._names = settings.all_names

    @property
    def intake(self) -> IntakeStart:
        """What a new job's form begins with."""
        start = self._settings.intake
        return IntakeStart(
            oil_g=start.oil_g,
            radius_mm=start.radius_mm,
            shop_limit_g=start.shop_limit_g,
            bobweight_g=start.bobweight_g,
            spin_uncertainty_g=start.spin_uncertainty_g,
            imperial=self._settings.units == "imperial",
        )

    @property
    def columns(self) -> Mapping[str, str]:
        """Column heads that were told to mean a part."""
        return self._settings.columns

    @property
    def names(self) -> Sequence[str]:
        """Initials of those who work at this bench."""
        return self._names

    def ports(self) -> Sequence[PortLine]:
        """Return the ports there are now.

        Returns
        -------
        Sequence[PortLine]
            The one of the settings first.
        """
        from bench.command_line.wiring import ports_now

        own = self._settings.scale.url
        first = [PortLine(own, "the scale of the settings")] if own else []
        return [*first, *(PortLine(port.url, port.words) for port in ports_now() if port.url != own)]

    def hear(self, url: str) -> Hearing:
        """Begin to listen at a port.

        Parameters
        ----------
        url : str
            Device or pySerial URL.

        Returns
        -------
        Hearing
            Stop it.
        """
        from bench.command_line.scale_finder import ScaleFinder

        def kept(where: str, profile: str) -> None:
            keep(self._places.settings, {("scale", "url"): where, ("scale", "profile"): profile})

        return ScaleFinder(url, profiles=self._places.profiles, keep=kept)

    def keep(self, changes: Mapping[tuple[str, ...], str]) -> str:
        """Keep settings.

        Parameters
        ----------
        changes : Mapping[tuple[str, ...], str]
            Value by path.

        Returns
        -------
        str
            What is wrong; empty when nothing is.
        """
        try:
            keep(self._places.settings, changes)
        except RefusedError as fault:
            return str(fault)
        if ("names",) in changes:
            self._names = split_names(changes[("names",)])
        return ""

    def read_sheet(self, path: Path) -> Sheet:
        """Read a sheet of weights.

        Parameters
        ----------
        path : Path
            CSV or spreadsheet.

        Returns
        -------
        Sheet
            Every cell as text.
        """
        from bench.reports.sheet_reading import read_sheet

        return read_sheet(path.expanduser())

    def templates(self) -> Sequence[JobTemplate]:
        """Return the shop's templates, by name.

        Returns
        -------
        Sequence[JobTemplate]
            What can be read.
        """
        from bench.command_line.template_files import TemplateFiles

        return TemplateFiles(self._places.templates).all()

    def keep_template(self, template: JobTemplate, *, replace: bool) -> str:
        """Keep a template.

        Parameters
        ----------
        template : JobTemplate
            What to keep.
        replace : bool
            One of that name gives way.

        Returns
        -------
        str
            What is wrong; empty when it is kept.
        """
        from bench.command_line.template_files import TemplateFiles

        try:
            TemplateFiles(self._places.templates).keep(template, replace=replace)
        except RefusedError as fault:
            return str(fault)
        return ""

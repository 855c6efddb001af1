"""Keeps a balancing machine's profile that a check with a known mass has put right, and reads with it at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from bench.command_line.instrument_wiring import export_reader, plugins, profile_names, recorded_name
from bench.command_line.settings_writing import keep
from bench.command_line.teach_wiring import keep_checked
from bench.use_cases.errors import RefusedError
from bench.use_cases.keep_profile import KeptProfile

if TYPE_CHECKING:
    from bench.command_line.places import Places
    from bench.command_line.settings import Settings
    from bench.computation.angle_check import AngleCheck
    from bench.use_cases.commands import CheckMachine
    from drivers.contract import ExportReader

LONGEST = 40


class CheckedProfiles:
    """The shop's folder of profiles and its settings.

    Parameters
    ----------
    places : Places
        Where both are.
    settings : Settings
        Name the profile that reads the machine now.
    read_with : Callable[[ExportReader], None]
        Is given the reader of the new profile.
    """

    def __init__(
        self, places: Places, settings: Settings, read_with: Callable[[ExportReader], None] = lambda _: None
    ) -> None:
        self._places = places
        self._settings = settings
        self._read_with = read_with
        self._balancer = settings.balancer

    def next_name(self) -> str:
        """Return a free name for the present profile, put right.

        Returns
        -------
        str
            "floor-machine-checked", with a number where that is taken.
        """
        taken = profile_names(self._places)[1]
        base = self._balancer.profile.split("-checked")[0][: LONGEST - 12] + "-checked"
        return next(name for name in (base, *(f"{base}-{n}" for n in range(2, 1000))) if name not in taken)

    def keep_checked(self, check: AngleCheck, told: CheckMachine, *, day: str, name: str) -> KeptProfile:
        """Save the profile as the check showed it, set it in the settings and read with it from now on.

        Parameters
        ----------
        check : AngleCheck
            What was found.
        told : CheckMachine
            How it was checked.
        day : str
            When.
        name : str
            Of the new profile.

        Returns
        -------
        KeptProfile
            Where it is.

        Raises
        ------
        RefusedError
            When the runs do not tell, there is one of that name, or it cannot be written.
        """
        if not check.clear:
            raise RefusedError(
                f"profile '{name}'", found="runs that do not tell", do="run again with a larger mass; nothing was saved"
            )
        angles = ", ".join(f"{angle:g}" for angle in told.at_deg)
        path = keep_checked(
            self._balancer.profile,
            self._places,
            mirrored=check.mirrored,
            turned_by_deg=0.0 if check.agrees() else check.turned_by_deg,
            swapped=check.planes_swapped,
            checked=f"{day}, {told.mass_g:g} g at the {told.plane} at {angles} degrees",
            new_name=name,
        )
        keep(self._places.settings, {("balancer", "profile"): name})
        self._balancer = self._balancer.model_copy(update={"profile": name})
        self._read_with(export_reader(self._balancer, self._places, allowed=plugins(self._settings)))
        return KeptProfile(
            name, str(path), recorded_name("balancer", self._balancer, self._places, plugins(self._settings))
        )

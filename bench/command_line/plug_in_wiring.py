"""The part of the wiring that knows foreign drivers: which may run, what they are, how the record names them."""

from __future__ import annotations

from bench.command_line import safe_mode
from bench.command_line.places import Places
from bench.command_line.settings import InstrumentSettings, Settings, plug_in_names
from bench.use_cases.errors import RefusedError
from drivers import registry
from drivers.apart.fingerprint import short
from drivers.apart.leave import plug_in_print
from drivers.apart.permits import NOBODY, Permits
from drivers.apart.plug_in import ApartReader, ApartScale
from drivers.driver_points import PlugInFaultError

__all__ = [
    "NOBODY",
    "ApartReader",
    "ApartScale",
    "Permits",
    "PlugInFaultError",
    "plugins",
    "print_of_plug_in",
    "recorded_name",
]

_NAME_CAP = 120


def plugins(settings: Settings) -> Permits:
    """Return the foreign drivers that the settings name; no other one ever runs, and in safe mode none does.

    Parameters
    ----------
    settings : Settings
        The settings; `plugins` holds names with blanks or commas between them.

    Returns
    -------
    Permits
        Each with the fingerprint it had when it was allowed.
    """
    names = plug_in_names(settings.plugins)
    return Permits({name: settings.plugin_files.get(name, "") for name in names}, safe_mode=safe_mode.chosen())


def print_of_plug_in(name: str) -> str:
    """Return the fingerprint of a foreign driver's files, without importing any of them.

    Parameters
    ----------
    name : str
        Of the driver.

    Returns
    -------
    str
        Distribution, version and hash.

    Raises
    ------
    RefusedError
        When there is no such plug-in.
    """
    try:
        return plug_in_print(name)
    except registry.DriverError as fault:
        raise RefusedError(f"plug-in '{name}'", found=fault.found, do=fault.do) from fault


def recorded_name(kind: registry.Kind, instrument: InstrumentSettings, places: Places, allowed: Permits) -> str:
    """Return how an instrument is called in the record: with the plug-in that reads it, where one does.

    Parameters
    ----------
    kind : registry.Kind
        "scale" or "balancer".
    instrument : InstrumentSettings
        Names the profile.
    places : Places
        For the shop's own profiles.
    allowed : Permits
        Foreign drivers that may run.

    Returns
    -------
    str
        For example "scale", or "scale (plug-in far-pan of far-drivers 1.2, files 9f869f869f86)".
    """
    driver = instrument.profile
    if driver in registry.profile_places(kind, folder=places.profiles):
        read = registry.scale_profile if kind == "scale" else registry.balancer_profile
        try:
            driver = read(driver, folder=places.profiles).driver
        except registry.DriverError as fault:
            raise RefusedError(kind, found=str(fault)) from fault
    seen = next((one for one in registry.drivers_seen(kind) if one.name == driver), None)
    if seen is None or not seen.foreign:
        return instrument.name
    known = allowed.files.get(seen.name, "")
    return f"{instrument.name} (plug-in {seen.name} of {short(known) if known else seen.origin})"[:_NAME_CAP]

"""Enter where metal may be taken from this crank."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from bench.models.stations import StationSet
from bench.trail.events import Event, StationsEntered
from bench.use_cases.crank_stations import crank_stations
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.view import Tone


class Templates(Protocol):
    """Where stations of crank types are kept."""

    def all(self) -> tuple[StationSet, ...]:
        """Return every template that can be read, by name."""
        ...

    def keep(self, stations: StationSet) -> str:
        """Keep a template; what is wrong, empty when it is kept."""
        ...


class NoTemplates:
    """Nothing is kept."""

    def all(self) -> tuple[StationSet, ...]:
        """Return no template.

        Returns
        -------
        tuple[StationSet, ...]
            Empty.
        """
        return ()

    def keep(self, stations: StationSet) -> str:
        """Keep nothing.

        Parameters
        ----------
        stations : StationSet
            What would be kept.

        Returns
        -------
        str
            Empty: nothing is wrong.
        """
        del stations
        return ""


def enter_stations(scribe: Scribe, stations: StationSet) -> Event:
    """Record the stations of the open job's crank.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    stations : StationSet
        As measured, or from a template.

    Returns
    -------
    Event
        As recorded.

    Raises
    ------
    RefusedError
        When no job is open, the stations do not fit the job's planes, or a drill does not fit its arc or radius.
    """
    state = scribe.state
    if state is None:
        raise RefusedError("stations", found="no job is open", do="open the job first")
    misfit = stations.what_does_not_fit(state.spec)
    if misfit:
        raise RefusedError("stations", found=misfit, do="correct the stations; nothing was recorded")
    crank_stations(state.spec, stations)
    return scribe.record([StationsEntered(stations=stations)], how="typed")[0]


def enter_and_keep(
    scribe: Scribe, stations: StationSet, templates: Templates, say: Callable[[str, Tone, str], None]
) -> None:
    """Record the stations of the open job's crank, keep them as a template, and say both.

    Parameters
    ----------
    scribe : Scribe
        Who writes.
    stations : StationSet
        The stations.
    templates : Templates
        Where they are kept.
    say : Callable[[str, Tone, str], None]
        Takes what came of it.
    """
    event = enter_stations(scribe, stations)
    say(f"stations of {stations.crank_type} entered (entry {event.seq})", Tone.ACCEPT, "info")
    wrong = templates.keep(stations)
    if wrong:
        say(wrong, Tone.ATTENTION, "info")

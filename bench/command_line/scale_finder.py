"""Listens at a port with one setting after the other until the bytes look like a scale, then reads its numbers."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path

from bench.screens.shop import HeardNow
from bench.use_cases.errors import RefusedError
from drivers import registry
from drivers.contract import LinkChange, LinkState, Reading
from drivers.links.serial_link import SerialLink
from drivers.profile import PortSettings
from drivers.profile_writing import save_profile
from drivers.showing import shown_bytes
from drivers.teach_port import CONFIRM_S, QUIET_REASONS, Heard, dwell_s, is_plausible, settings_to_try, settled

LINES_SHOWN = 4
TAIL = 4000
NEEDED_READINGS = 3
POLL_S = 0.1
QUIET_ROUNDS_S = 8.0


class ScaleFinder:
    """Finds speed, parity, bits and profile of what is at a port.

    Parameters
    ----------
    url : str
        Device or pySerial URL.
    profiles : Path
        The shop's own profiles; a profile with another speed is kept there.
    keep : Callable[[str, str], None]
        Keeps port and profile in the settings.
    dwell : Callable[[PortSettings], float]
        How long to listen with a setting. [s]
    """

    def __init__(
        self,
        url: str,
        *,
        profiles: Path,
        keep: Callable[[str, str], None],
        dwell: Callable[[PortSettings], float] = dwell_s,
    ) -> None:
        self._url = url
        self._profiles = profiles
        self._keep = keep
        self._dwell = dwell
        self._lock = threading.Lock()
        self._data = bytearray()
        self._trouble = ""
        self._words = "listening"
        self._setting: PortSettings | None = None
        self._found = False
        self._profile = self._shown = ""
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="scale finder", daemon=True)
        self._thread.start()

    # -- what the card asks -------------------------------------------------------------------------------
    def now(self) -> HeardNow:
        """Tell what was heard so far.

        Returns
        -------
        HeardNow
            Fit to show.
        """
        with self._lock:
            parts = [part for part in re.split(rb"[\r\n]+", bytes(self._data[-TAIL:])) if part]
            words = self._trouble or self._words
            setting = _setting_words(self._setting) if self._setting else ""
            ready = self._found and bool(self._profile)
            lines = tuple(shown_bytes(part) for part in parts[-LINES_SHOWN:])
            return HeardNow(words, lines, setting, self._shown, self._profile, ready)

    def keep(self) -> str:
        """Keep port and profile.

        Returns
        -------
        str
            What is wrong; empty when nothing is.
        """
        with self._lock:
            profile, setting, ready = self._profile, self._setting, self._found
        if not ready or not profile or setting is None:
            return "nothing is heard that could be kept"
        try:
            self._keep(self._url, self._named(profile, setting))
        except (RefusedError, OSError) as fault:
            return str(fault)
        return ""

    def stop(self) -> None:
        """Leave the port."""
        self._stopping.set()
        self._thread.join(timeout=3.0)

    # -- what the link tells ------------------------------------------------------------------------------
    def bytes_came(self, chunk: bytes, at_ns: int) -> None:
        """Take bytes.

        Parameters
        ----------
        chunk : bytes
            As they came.
        at_ns : int
            When; no matter here. [ns]
        """
        del at_ns
        with self._lock:
            self._data += chunk
            del self._data[: max(0, len(self._data) - 4 * TAIL)]

    def link_changed(self, change: LinkChange) -> None:
        """Take a change of the link.

        Parameters
        ----------
        change : LinkChange
            The new state.
        """
        fine = change.state in {LinkState.OPEN, LinkState.CLOSED, LinkState.SILENT}
        with self._lock:
            self._trouble = "" if fine else f"{self._url} {change.state.value}. {change.remedy}".strip()

    # -- the search ---------------------------------------------------------------------------------------
    def _run(self) -> None:
        began = time.monotonic()
        heard_any = False
        while not self._stopping.is_set():
            for setting in self._settings():
                heard = self._listen(setting, self._dwell(setting))
                heard_any = heard_any or bool(heard.data)
                if self._stopping.is_set():
                    return
                if is_plausible(heard):
                    kept = settled(setting, heard)
                    if is_plausible(self._listen(kept, CONFIRM_S)):
                        self._read(kept)
                        return
                elif not heard_any and time.monotonic() - began > QUIET_ROUNDS_S:
                    break
            if not heard_any:
                self._say(f"nothing arrives. Perhaps {QUIET_REASONS[0]}; or {QUIET_REASONS[1]}; or {QUIET_REASONS[2]}")
            else:
                self._say(
                    "something arrives, but at no speed does it look like a scale: `spinledger teach scale` learns it"
                )

    def _settings(self) -> Iterable[PortSettings]:
        # what comes through a network has no speed to try
        return [PortSettings()] if "://" in self._url else settings_to_try()

    def _listen(self, setting: PortSettings, for_s: float) -> Heard:
        with self._lock:
            self._data.clear()
            self._setting = setting
            if not self._words.startswith(("nothing", "something")):
                self._words = f"listening with {_setting_words(setting)}"
        link = SerialLink(self._url, self, port=setting)
        link.start()
        try:
            self._stopping.wait(for_s)
            with self._lock:
                return Heard(bytes(self._data))
        finally:
            link.stop()

    def _read(self, setting: PortSettings) -> None:
        with self._lock:
            self._found = True
            self._setting = setting
        link = SerialLink(self._url, self, port=setting)
        link.start()
        try:
            while not self._stopping.wait(POLL_S):
                self._look()
        finally:
            link.stop()

    def _look(self) -> None:
        with self._lock:
            data = bytes(self._data[-TAIL:])
        name, shown = self._best(data)
        with self._lock:
            self._profile, self._shown = name, shown
            self._words = (
                "Is this the number on the scale's display? Enter keeps it."
                if name
                else "the speed is right, but this layout is not known yet: `spinledger teach scale` learns it"
            )

    def _best(self, data: bytes) -> tuple[str, str]:
        """Return the profile that reads most of the bytes, and the newest number it reads."""
        best, best_score, shown = "", 0.0, ""
        whole = data[data.find(b"\n") + 1 :] if b"\n" in data else data
        for name in registry.scale_names(folder=self._profiles):
            try:
                items = registry.make_scale_driver(name, folder=self._profiles).feed(whole, 0)
            except registry.DriverError:
                continue
            readings = [item for item in items if isinstance(item, Reading) and item.value is not None]
            score = len(readings) - 2.0 * (len(items) - len(readings))
            if len(readings) >= NEEDED_READINGS and score > best_score:
                best, best_score, shown = name, score, f"{readings[-1].value} {readings[-1].unit}"
        return best, shown

    def _named(self, name: str, setting: PortSettings) -> str:
        """Return a profile that opens the port as it was found; a copy with another speed where need be."""
        profile = registry.scale_profile(name, folder=self._profiles)
        if "://" in self._url or _same_line(profile.port, setting):
            return name
        port = profile.port.model_copy(
            update={
                "baud": setting.baud,
                "bits": setting.bits,
                "parity": setting.parity,
                "stop_bits": setting.stop_bits,
            }
        )
        own = f"{name}-{setting.baud}-{setting.bits}{setting.parity}"
        if own not in registry.scale_names(folder=self._profiles):
            save_profile(profile.model_copy(update={"name": own, "port": port}), self._profiles)
        return own

    def _say(self, words: str) -> None:
        with self._lock:
            self._words = words


def _setting_words(setting: PortSettings) -> str:
    return f"{setting.baud} bit/s, {setting.bits} bits, parity {setting.parity}"


def _same_line(one: PortSettings, other: PortSettings) -> bool:
    return (one.baud, one.bits, one.parity) == (other.baud, other.bits, other.parity)

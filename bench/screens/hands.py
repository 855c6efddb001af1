"""Hands at the bench: pedals that tremble or are held down, scanners that type like a keyboard."""

from __future__ import annotations

import asyncio
from time import monotonic

from textual.app import App
from textual.command import CommandPalette
from textual.events import Event, Key
from textual.screen import ModalScreen
from textual.widgets import Input

from bench.capture.pedal import PedalWatch, Press
from bench.screens.scan_burst import LONGEST_GAP_S, ScanBurst


class Hands(App[int]):
    """The dashboard's ears for keys."""

    def __init__(self) -> None:
        super().__init__()
        self._pedals = {"bench.due": PedalWatch(), "bench.take-back": PedalWatch()}
        self._scan: ScanBurst[Key] = ScanBurst()

    def tell(self, words: str, *, level: str = "ask") -> None:
        """Say something.

        Parameters
        ----------
        words : str
            One sentence.
        level : str
            "good", "bad", "ask" or "info".
        """
        raise NotImplementedError

    def scanned(self, line: str) -> None:
        """Take a scanned line.

        Parameters
        ----------
        line : str
            What the scanner typed.
        """
        raise NotImplementedError

    def counts(self, act_id: str, *, confirming: bool) -> bool:
        """Tell whether a press counts; a pedal that is held down asks.

        Parameters
        ----------
        act_id : str
            The action.
        confirming : bool
            It would confirm what the press before began.

        Returns
        -------
        bool
            True for every key that is no pedal.
        """
        watch = self._pedals.get(act_id)
        if watch is None:
            return True
        press = watch.pressed(monotonic(), confirming=confirming)
        if press is Press.ASK and not isinstance(self.screen, ModalScreen):
            self.tell("the pedal is held down: what is wanted?")
            self.action_command_palette()
        return press is Press.ACT

    def action_command_palette(self) -> None:
        """Open the list of everything, in words of our own."""
        if not isinstance(self.screen, CommandPalette):
            words = "a word of what you want to do"
            self.push_screen(CommandPalette(id="--command-palette", placeholder=words))

    async def on_event(self, event: Event) -> None:
        """Hold back keys that may be a scan; a scan goes to the part it names.

        Parameters
        ----------
        event : Event
            Anything that happens.
        """
        if not isinstance(event, Key) or len(self.screen_stack) != 1 or isinstance(self.focused, Input):
            await super().on_event(event)
            return
        character = "\n" if event.key == "enter" else event.character
        ready, line = self._scan.take(event, character, monotonic())
        for each in ready:
            await super().on_event(each)
        if line:
            self.scanned(line)
        elif self._scan.held:
            asyncio.get_running_loop().call_later(LONGEST_GAP_S, self._scan_over)

    def _scan_over(self) -> None:
        if self._scan.held and monotonic() - self._scan.last_s >= LONGEST_GAP_S:
            for each in self._scan.release():
                # past our own look at it, into the library's
                self.call_next(super().on_event, each)

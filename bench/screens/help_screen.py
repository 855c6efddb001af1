"""Help: a sentence for what is shown, then every key."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.screens.help_text import ABOUT, PEDAL
from bench.screens.safe_text import plain
from bench.use_cases.view import Step


class HelpScreen(ModalScreen[None]):
    """Shows help until a key is pressed.

    Parameters
    ----------
    step : Step
        What is shown.
    keys : Sequence[BindingType]
        The app's bindings.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,q,enter,f1", "leave", "Leave", id="help.leave")]
    DEFAULT_CSS = """
    HelpScreen { align: center middle; }
    HelpScreen > VerticalScroll { width: 74; max-width: 96%; height: auto; max-height: 96%; padding: 1 2;
        background: $surface; border: round $primary; }
    """

    def __init__(self, step: Step, keys: Sequence[BindingType]) -> None:
        super().__init__()
        self._step = step
        self._keys = [key for key in keys if isinstance(key, Binding)]

    def compose(self) -> ComposeResult:
        """Lay out the sentence, the pedal, the keys.

        Yields
        ------
        Widget
            One text.
        """
        keys = [plain(f"{(key.key_display or key.key):<8} {key.description}") for key in self._keys]
        parts = [plain(ABOUT[self._step], "bold"), Content(""), plain(PEDAL), Content(""), *keys]
        parts += [Content(""), plain("Ctrl+P finds every action by its name. Escape leaves.", "$foreground-muted")]
        with VerticalScroll():
            yield Static(Content("\n").join(parts))

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)

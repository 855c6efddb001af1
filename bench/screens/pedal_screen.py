"""The card that learns a foot pedal: press it now."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.events import Key
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.screens.safe_text import safe

ASKED: tuple[tuple[str, str], ...] = (
    ("bench.due", "Press the pedal for YES now (usual: PageDown)."),
    ("bench.take-back", "Press the pedal for TAKE BACK now (usual: PageUp); Escape leaves it as it is."),
)
NEVER: frozenset[str] = frozenset({"ctrl+b", "ctrl+c", "ctrl+z", "ctrl+s", "ctrl+q", "enter", "tab", "escape"})


class PedalScreen(ModalScreen["dict[str, str] | None"]):
    """Asks for a press a pedal and keeps the key's name as it arrived."""

    inherit_bindings: ClassVar[bool] = False

    def __init__(self) -> None:
        super().__init__(classes="card")
        self.learned: dict[str, str] = {}
        self._complaint = ""

    def compose(self) -> ComposeResult:
        """Lay out the card.

        Yields
        ------
        Widget
            One text.
        """
        with VerticalScroll(classes="sheet-of-paper", can_focus=False):
            yield Static(self.card(), id="pedal", markup=False)

    def card(self) -> Content:
        """Return what stands on the card.

        Returns
        -------
        Content
            What to press, and what was learned.
        """
        rows = [Content.styled("Foot pedal", "bold"), Content("")]
        rows += [Content(f"learned: {safe(key)} does {BY_WORDS[id_]}") for id_, key in self.learned.items()]
        if len(self.learned) < len(ASKED):
            rows.append(Content.styled(ASKED[len(self.learned)][1], "bold $accent"))
        if self._complaint:
            rows.append(Content.styled(self._complaint, "bold $bad"))
        rows += [Content(""), Content.styled("Escape leaves.", "$faint")]
        return Content("\n").join(rows)

    def on_key(self, event: Key) -> None:
        """Learn a key.

        Parameters
        ----------
        event : Key
            What the pedal sent.
        """
        event.stop()
        event.prevent_default()
        self.learn(event.key, printable=event.is_printable)

    def learn(self, key: str, *, printable: bool) -> None:
        """Keep a key for the pedal that is asked for.

        Parameters
        ----------
        key : str
            Its name.
        printable : bool
            It would type a letter into a field.
        """
        if key == "escape":
            self.dismiss(self.learned or None)
            return
        if printable or key in NEVER:
            self._complaint = f"{safe(key)} types into fields or belongs to the terminal: set the pedal to another key."
        elif key in self.learned.values():
            self._complaint = f"{safe(key)} is taken by the first pedal."
        else:
            self._complaint = ""
            self.learned[ASKED[len(self.learned)][0]] = key
        if len(self.learned) == len(ASKED):
            self.dismiss(self.learned)
            return
        self.query_one("#pedal", Static).update(self.card())


BY_WORDS = {"bench.due": "yes", "bench.take-back": "take back"}

"""The card that asks who is at the bench: a bar of names with the keys 1 to 9, or initials that are typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.events import Key
from textual.screen import ModalScreen
from textual.style import Style
from textual.widgets import Input, Static

from bench.screens.safe_text import plain, safe

MOST_NAMES = 9
"""As many as there are keys for."""
LONGEST_INITIALS = 12


def names_bar(names: Sequence[str], *, here: str, action: str) -> list[Content]:
    """Return the names with their keys; the one at the bench stands out.

    Parameters
    ----------
    names : Sequence[str]
        Initials; what comes after the ninth has no key.
    here : str
        Who is at the bench.
    action : str
        What a click does, a name of ours; the number is its argument.

    Returns
    -------
    list[Content]
        One a name.
    """
    bar: list[Content] = []
    for number, name in enumerate(names[:MOST_NAMES], 1):
        style = "bold reverse $accent" if name == here else "$ink"
        word = Content.assemble(Content.styled(f" {number} ", "bold $accent"), plain(f"{safe(name)} ", style))
        bar.append(word.stylize(Style.from_meta({"@click": f"{action}({number})"})))
    return bar


class NamesScreen(ModalScreen["str | None"]):
    """Asks who is at the bench; gives the initials, or None.

    Parameters
    ----------
    names : Sequence[str]
        Who works at this bench.
    here : str
        Who is there now; empty for nobody.
    """

    AUTO_FOCUS: ClassVar[str | None] = ""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave", id="names.leave")]

    def __init__(self, names: Sequence[str], here: str) -> None:
        super().__init__(classes="card")
        self._names = tuple(names[:MOST_NAMES])
        self._here = here

    def compose(self) -> ComposeResult:
        """Lay out the bar and a field for others.

        Yields
        ------
        Widget
            From top to bottom.
        """
        with VerticalScroll(classes="sheet-of-paper", can_focus=False):
            yield Static(Content.styled("Who is at the bench?", "bold"))
            yield Static(Content.styled("Each entry of the record names the person; it stays until it is changed."))
            bar = names_bar(self._names, here=self._here, action="screen.pick")
            yield Static(Content(" ").join(bar), id="names-bar", markup=False)
            others = "initials of somebody else" if self._names else "your initials"
            yield Input(placeholder=others, id="field-by", max_length=LONGEST_INITIALS, select_on_focus=False)
            yield Static("", id="complaint", markup=False)
            keys = f"1 to {len(self._names)}: this name   " if self._names else ""
            yield Static(Content.styled(f"{keys}letters, then Enter: a new name   Escape: leave", "$faint"))

    def on_mount(self) -> None:
        """Begin at the field when there is no name to choose."""
        self.query_one("#names-bar").display = bool(self._names)
        if not self._names:
            self.query_one("#field-by").focus()

    def on_key(self, event: Key) -> None:
        """Choose a name by its key; a letter begins a new one.

        Parameters
        ----------
        event : Key
            What was pressed while no field has the focus.
        """
        if self.focused is not None or event.character is None or not event.is_printable:
            return
        event.stop()
        if event.character.isdigit():
            self.action_pick(int(event.character))
            return
        field = self.query_one("#field-by", Input)
        field.focus()
        field.insert_text_at_cursor(event.character)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Take a key of the bar that went into the field.

        Parameters
        ----------
        event : Input.Changed
            What stands there.
        """
        if self._names and event.value.isdigit():
            event.input.value = ""
            self.action_pick(int(event.value))

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take new initials.

        Parameters
        ----------
        event : Input.Submitted
            What was typed.
        """
        typed = "".join(event.value.split())
        if typed:
            self.dismiss(typed)
        else:
            self._complain("no initials: type two or three letters, or leave with Escape")

    def action_pick(self, number: int) -> None:
        """Choose a name of the bar.

        Parameters
        ----------
        number : int
            From 1.
        """
        if 1 <= number <= len(self._names):
            self.dismiss(self._names[number - 1])
        else:
            self._complain(f"there is no name {number}: type the initials")

    def action_leave(self) -> None:
        """Leave it as it is."""
        self.dismiss(None)

    def _complain(self, words: str) -> None:
        self.query_one("#complaint", Static).update(plain(words))

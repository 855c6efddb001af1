"""One dialog for everything that is typed: fields with words, a complaint beside the field that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Button, Checkbox, Input, Label, Static

from bench.screens.safe_text import plain
from bench.use_cases.commands import Command

LONGEST = 200


@dataclass(frozen=True, slots=True)
class FormField:
    """One thing that is asked.

    Attributes
    ----------
    name : str
        Key of the answer.
    label : str
        Words, with the unit.
    value : str
        What stands there at first.
    tick : bool
        Yes or no instead of text; the answer is "yes" or "".
    """

    name: str
    label: str
    value: str = ""
    tick: bool = False


class FormComplaintError(ValueError):
    """What was typed cannot be used.

    Parameters
    ----------
    field : str
        Which field.
    words : str
        Why, and what is wanted.
    """

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field = field


class Tick(Checkbox):
    """A box that is seen to be ticked without its colour."""

    def watch_value(self) -> None:
        """Show the state as a character."""
        self.BUTTON_INNER = "X" if self.value else " "
        super().watch_value()


Reader = Callable[[Mapping[str, str]], Command]


class FormDialog(ModalScreen["Command | None"]):
    """Asks and gives a command back, or None.

    Parameters
    ----------
    title : str
        What it is about.
    fields : Sequence[FormField]
        What is asked.
    read : Reader
        Makes the command, or raises FormComplaintError.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave", id="form.leave")]

    def __init__(self, title: str, fields: Sequence[FormField], read: Reader) -> None:
        super().__init__(classes="card")
        self._title = title
        self._fields = tuple(fields)
        self._read = read

    def compose(self) -> ComposeResult:
        """Lay the fields out, one below the other.

        Yields
        ------
        Widget
            Labels, inputs and two buttons.
        """
        with VerticalScroll(classes="sheet-of-paper"):
            yield Static(plain(self._title, "bold"))
            for field in self._fields:
                if field.tick:
                    yield Tick(field.label, value=bool(field.value), id=f"field-{field.name}", compact=True)
                else:
                    yield Label(plain(field.label))
                    yield Input(
                        value=field.value,
                        id=f"field-{field.name}",
                        max_length=LONGEST,
                        select_on_focus=False,
                        compact=True,
                    )
            yield Static("", id="complaint")
            with Horizontal():
                yield Button("Do it", variant="primary", id="do", compact=True)
                yield Button("Leave", id="leave", compact=True)

    def on_mount(self) -> None:
        """Begin at the first field."""
        self.query_one(f"#field-{self._fields[0].name}").focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter goes to the next field, and on the last one does it.

        Parameters
        ----------
        event : Input.Submitted
            Which field.
        """
        names = [field.name for field in self._fields]
        index = names.index((event.input.id or "").removeprefix("field-"))
        if index + 1 < len(names):
            self.query_one(f"#field-{names[index + 1]}").focus()
        else:
            self._do()

    def go_on(self) -> None:
        """Tick what has the focus and go to the next; on the last, do it: the foot pedal's way through."""
        names = [field.name for field in self._fields]
        here = (self.focused.id or "").removeprefix("field-") if self.focused else ""
        if here not in names:
            self._do()
            return
        widget = self.query_one(f"#field-{here}")
        if isinstance(widget, Checkbox):
            widget.value = True
        index = names.index(here)
        if index + 1 < len(names):
            self.query_one(f"#field-{names[index + 1]}").focus()
        else:
            self._do()

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """Do it or leave.

        Parameters
        ----------
        event : Button.Pressed
            Which button.
        """
        if event.button.id == "do":
            self._do()
        else:
            self.dismiss(None)

    def action_leave(self) -> None:
        """Leave without doing anything."""
        self.dismiss(None)

    def _do(self) -> None:
        answers: dict[str, str] = {}
        for field in self._fields:
            widget = self.query_one(f"#field-{field.name}")
            if isinstance(widget, Checkbox):
                answers[field.name] = "yes" if widget.value else ""
            elif isinstance(widget, Input):
                answers[field.name] = widget.value.strip()
        try:
            command = self._read(answers)
        except FormComplaintError as fault:
            self.query_one("#complaint", Static).update(plain(str(fault)))
            self.query_one(f"#field-{fault.field}").focus()
            return
        self.dismiss(command)

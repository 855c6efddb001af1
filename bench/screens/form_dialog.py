"""One dialog for everything that is typed: fields with words, a complaint beside the field that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, cast

from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Button, Checkbox, Input, Label, Select, Static

from bench.screens.safe_text import plain
from bench.use_cases.commands import Command

LONGEST = 200
KEYS = "Tab next  Space ticks  F1 explains  Escape leaves"
ROWS_AROUND = 5
"""Border, title, buttons and the line above them."""
WIDEST = 110


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
    choices : tuple[tuple[str, str], ...]
        Key and words of what can be chosen; the answer is a key. Empty for text.
    help : str
        One sentence for F1.
    """

    name: str
    label: str
    value: str = ""
    tick: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    help: str = ""


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


class FormDoubtError(FormComplaintError):
    """What was typed can be used but looks like a slip; typed again unchanged, it is meant.

    Parameters
    ----------
    field : str
        Field of the first doubt.
    doubts : tuple[str, ...]
        A sentence each.
    """

    def __init__(self, field: str, doubts: tuple[str, ...]) -> None:
        super().__init__(field, "\n".join(doubts))
        self.doubts = doubts


class Choice(Select[str]):
    """One of several, by its key."""


class Tick(Checkbox):
    """A box that is seen to be ticked without its colour."""

    BUTTON_LEFT, BUTTON_INNER, BUTTON_RIGHT = "[", " ", "]"

    def watch_value(self) -> None:
        """Show the state as a character."""
        self.BUTTON_INNER = "X" if self.value else " "  # pyright: ignore[reportConstantRedefinition]
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

    SURE: ClassVar[str] = "sure?"
    """Name of an answer that is there when doubts were seen and nothing was changed."""
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave", id="form.leave")]

    def __init__(self, title: str, fields: Sequence[FormField], read: Reader) -> None:
        super().__init__(classes="card")
        self._title = title
        self._fields = tuple(fields)
        self._read = read
        self._doubted: dict[str, str] | None = None
        self.confirm: Callable[[Command], ModalScreen[bool | None] | None] | None = None
        """Gives a card that is to be said yes to before the command goes out; the form waits behind it."""
        self._said = 1

    def compose(self) -> ComposeResult:
        """Lay the fields out, one below the other.

        Yields
        ------
        Widget
            Labels, inputs and two buttons.
        """
        with Vertical(classes="sheet-of-paper wide"):
            yield Static(plain(self._title, "bold"))
            with VerticalScroll(classes="fields", can_focus=False):
                for field in self._fields:
                    if field.tick:
                        yield Tick(field.label, value=bool(field.value), id=f"field-{field.name}", compact=True)
                        continue
                    with Horizontal(classes="field"):
                        yield Label(plain(field.label))
                        yield self._asked(field)
            yield Static("", id="complaint")
            with Horizontal(classes="buttons"):
                yield Button("Do it", variant="primary", id="do", compact=True)
                yield Button("Leave", id="leave", compact=True)
                yield Static(Content.styled(KEYS, "$faint"), markup=False)

    @staticmethod
    def _asked(field: FormField) -> Widget:
        name = f"field-{field.name}"
        if field.choices:
            options = [(words, key) for key, words in field.choices]
            return Choice(options, value=field.value, allow_blank=False, id=name, compact=True)
        return Input(value=field.value, id=name, max_length=LONGEST, select_on_focus=False, compact=True)

    def on_resize(self) -> None:
        """Keep complaint and buttons on the screen, whatever the fields need."""
        self._make_room()

    def _make_room(self) -> None:
        self.query_one(".fields").styles.max_height = max(3, self.size.height - ROWS_AROUND - self._said)

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

    def explain(self) -> str:
        """Say in one sentence what the field in focus asks for.

        Returns
        -------
        str
            Its help, or its label.
        """
        name = (self.focused.id or "").removeprefix("field-") if self.focused else ""
        field = next((field for field in self._fields if field.name == name), None)
        return "Tab goes on, Enter on the last field does it." if field is None else field.help or field.label

    def explain_here(self) -> None:
        """Show the sentence on the card."""
        self._say([self.explain()])

    def _say(self, sentences: Sequence[str]) -> None:
        width = max(20, min(self.size.width, WIDEST) - 6)
        self._said = sum(1 + len(words) // width for words in sentences)
        self._make_room()
        self.query_one("#complaint", Static).update(Content("\n").join([plain(words) for words in sentences]))

    def _do(self) -> None:
        answers: dict[str, str] = {}
        for field in self._fields:
            widget = self.query_one(f"#field-{field.name}")
            if isinstance(widget, Checkbox):
                answers[field.name] = "yes" if widget.value else ""
            elif isinstance(widget, Input):
                answers[field.name] = widget.value.strip()
            elif isinstance(widget, Choice):
                answers[field.name] = str(widget.value)
        sure = {self.SURE: "yes"} if answers == self._doubted else {}
        try:
            command = self._read({**answers, **sure})
        except FormDoubtError as fault:
            self._doubted = answers
            self._say([*(f"? {words}" for words in fault.doubts), "Change it, or press Enter here: it is meant so."])
            self.query_one("#do", Button).focus()
            return
        except FormComplaintError as fault:
            self._say([str(fault)])
            self.query_one(f"#field-{fault.field}").focus()
            return
        card = self.confirm(command) if self.confirm is not None else None
        if card is None:
            self.dismiss(command)
            return

        def answered(right: bool | None) -> None:  # noqa: FBT001 as the screen library calls it
            if right:
                self.dismiss(command)

        app: App[int] = cast("App[int]", self.app)  # pyright: ignore[reportUnknownMemberType] the library leaves it open
        app.push_screen(card, answered)

"""The card that connects a scale: choose the port, see its bytes, compare the number, keep it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from bench.screens.safe_text import plain
from bench.screens.shop import HeardNow, Hearing, Shop

LOOK_S = 0.25
NO_PORT = (
    "No port is seen. Plug the cable in: this list looks again every second. A port that is not listed can be typed."
)
CHOOSE = "Choose the port the scale is at. Unplug the scale to see which one goes away."


class ConnectScreen(ModalScreen[bool]):
    """Gives True when a scale was kept.

    Parameters
    ----------
    shop : Shop
        Knows the ports.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave", id="connect.leave"),
        Binding("enter", "keep", "Keep it", id="connect.keep"),
    ]

    def __init__(self, shop: Shop) -> None:
        super().__init__(classes="card")
        self._shop = shop
        self._hearing: Hearing | None = None
        self._urls: tuple[str, ...] | None = None
        self._ticks = 0
        self._complaint = ""

    def compose(self) -> ComposeResult:
        """Lay out the list of ports, a field for another one, and what is heard.

        Yields
        ------
        Widget
            From top to bottom.
        """
        with Vertical(classes="sheet-of-paper"):
            yield Static(Content.styled("Connect my scale", "bold"), markup=False)
            yield Static(CHOOSE, id="connect-words", markup=False)
            yield OptionList(id="ports", markup=False)
            yield Input(placeholder="or type a port: COM3, /dev/ttyUSB0, socket://host:port", id="port", compact=True)
            yield Static("", id="heard", markup=False)
            yield Static(Content.styled("Tab goes on, Enter chooses, Escape leaves", "$faint"), id="connect-foot")

    def on_mount(self) -> None:
        """Begin to look."""
        self._list_ports()
        self.set_interval(LOOK_S, self._look)
        self.query_one("#ports" if self._urls else "#port").focus()

    def on_unmount(self) -> None:
        """Leave the port."""
        self._drop()

    def _drop(self) -> None:
        if self._hearing is not None:
            self._hearing.stop()
            self._hearing = None

    def _list_ports(self) -> None:
        lines = tuple(self._shop.ports())
        urls = tuple(line.url for line in lines)
        if urls == self._urls:
            return
        ports = self.query_one("#ports", OptionList)
        here = ports.highlighted
        ports.clear_options()
        ports.add_options([Option(plain(f"{line.url}   {line.words}")) for line in lines])
        if urls:
            ports.highlighted = min(here or 0, len(urls) - 1)
        ports.display = bool(urls)
        self.query_one("#connect-words", Static).update(CHOOSE if urls else NO_PORT)
        self._urls = urls

    def _look(self) -> None:
        self._ticks += 1
        if self._hearing is None:
            if self._ticks % 4 == 0:
                self._list_ports()
            return
        self.query_one("#heard", Static).update(self.heard(self._hearing.now()))

    def heard(self, now: HeardNow) -> Content:
        """Return what a port gives as lines of the card.

        Parameters
        ----------
        now : HeardNow
            What was heard.

        Returns
        -------
        Content
            The sentence, the number, the bytes.
        """
        rows = [plain(self._complaint or now.words, "bold $bad" if self._complaint else "bold $accent")]
        if now.shown:
            rows.append(plain(f"reads: {now.shown}   (profile {now.profile}, {now.setting})", "bold $good"))
        elif now.setting:
            rows.append(plain(now.setting, "$faint"))
        rows += [plain(line, "$faint") for line in now.lines]
        return Content("\n").join(rows)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Listen at the port that was chosen.

        Parameters
        ----------
        event : OptionList.OptionSelected
            Which.
        """
        event.stop()
        if self._urls and event.option_index < len(self._urls):
            self._listen(self._urls[event.option_index])

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Listen at the port that was typed.

        Parameters
        ----------
        event : Input.Submitted
            The field.
        """
        event.stop()
        if event.value.strip():
            self._listen(event.value.strip())

    def _listen(self, url: str) -> None:
        self._drop()
        self._complaint = ""
        self._hearing = self._shop.hear(url)
        for hidden in ("#ports", "#port", "#connect-words"):
            self.query_one(hidden).display = False
        self.set_focus(None)
        foot = "Enter keeps it, Escape goes back to the ports"
        self.query_one("#connect-foot", Static).update(Content.styled(foot, "$faint"))
        self._look()

    def action_keep(self) -> None:
        """Keep what is heard."""
        if self._hearing is None:
            return
        if not self._hearing.now().ready:
            self._complaint = "" if self._complaint else "There is no number yet that could be kept: wait, or go back."
            self._look()
            return
        self._complaint = self._hearing.keep()
        if self._complaint:
            self._look()
            return
        self.dismiss(True)

    def action_leave(self) -> None:
        """Go back to the ports, or leave."""
        if self._hearing is None:
            self.dismiss(False)
            return
        self._drop()
        self._urls = None
        for shown in ("#port", "#connect-words"):
            self.query_one(shown).display = True
        self.query_one("#heard", Static).update("")
        self._list_ports()
        self.query_one("#ports" if self._urls else "#port").focus()

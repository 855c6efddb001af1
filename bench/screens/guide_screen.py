"""The guide, read inside the dashboard: the list first, then a page, text as Markdown."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Markdown, OptionList, Static
from textual.widgets.option_list import Option

from bench.guide.pages import Page
from bench.screens.guide_pages import all_pages


class GuideScreen(ModalScreen[None]):
    """Shows the list of pages, and the page that was chosen.

    Parameters
    ----------
    first : str
        Name of a page to begin with; empty for the list.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,h", "leave", "Leave", id="guide.leave"),
        Binding("right,n", "turn(1)", "Next page", id="guide.next"),
        Binding("left,backspace", "turn(-1)", "Page before", id="guide.before"),
    ]

    def __init__(self, first: str = "") -> None:
        super().__init__(classes="card")
        self._pages: tuple[Page, ...] = all_pages()
        self._at = next((i for i, page in enumerate(self._pages) if page.name == first), -1)

    def compose(self) -> ComposeResult:
        """Lay out the list, the page and the keys.

        Yields
        ------
        Widget
            From top to bottom.
        """
        with Vertical(classes="sheet-of-paper wide tall"):
            yield Static(Content.styled("The guide", "bold"), id="guide-head", markup=False)
            yield OptionList(*(Option(Content(page.title)) for page in self._pages), id="guide-list", markup=False)
            with VerticalScroll(id="guide-text"):
                yield Markdown("", open_links=False)
            yield Static("", id="guide-foot", markup=False)

    async def on_mount(self) -> None:
        """Show the list, or the first page."""
        await self._show()

    async def _show(self) -> None:
        listed = self._at < 0
        self.query_one("#guide-list", OptionList).display = listed
        text = self.query_one("#guide-text", VerticalScroll)
        text.display = not listed
        head, foot = self.query_one("#guide-head", Static), self.query_one("#guide-foot", Static)
        if listed:
            head.update(Content.styled("The guide", "bold"))
            foot.update(Content.styled("arrow keys and Enter choose a page, Escape leaves", "$faint"))
            self.query_one("#guide-list", OptionList).focus()
            return
        page = self._pages[self._at]
        place = f"page {self._at + 1} of {len(self._pages)}"
        head.update(Content.styled(place, "$faint"))
        foot.update(Content.styled("up and down scroll, left and right turn, Escape leaves", "$faint"))
        await self.query_one(Markdown).update(page.text)
        text.scroll_home(animate=False)
        text.focus()

    async def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        """Open the page that was chosen.

        Parameters
        ----------
        event : OptionList.OptionSelected
            Which.
        """
        event.stop()
        self._at = event.option_index
        await self._show()

    async def action_turn(self, by: int) -> None:
        """Show the next page or the one before; before the first stands the list.

        Parameters
        ----------
        by : int
            Forward or back.
        """
        self._at = max(-1, min(self._at + by, len(self._pages) - 1))
        await self._show()

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)

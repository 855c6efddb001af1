"""The card that shows what a sheet would bring; nothing is taken before a yes."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.screens.glyphs import GlyphSet
from bench.screens.safe_text import padded, plain
from bench.use_cases.bring_in import PlanIn


class BringInScreen(ModalScreen["PlanIn | None"]):
    """Gives the plan back when it is to be taken.

    Parameters
    ----------
    plan : PlanIn
        What a sheet would bring.
    glyphs : GlyphSet
        What the console can draw.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "leave", "Leave", id="bring-in.leave"),
        Binding("enter", "take", "Take them", id="bring-in.take"),
    ]

    def __init__(self, plan: PlanIn, glyphs: GlyphSet) -> None:
        super().__init__(classes="card")
        self._plan = plan
        self._glyphs = glyphs

    def compose(self) -> ComposeResult:
        """Lay out the card.

        Yields
        ------
        Widget
            One text.
        """
        with VerticalScroll(classes="sheet-of-paper"):
            yield Static(self.card(), id="bring-in", markup=False)

    def card(self) -> Content:
        """Return what stands on the card.

        Returns
        -------
        Content
            Columns, doubts, weights, keys.
        """
        plan, glyphs = self._plan, self._glyphs
        rows = [plain(f"{plan.source}: {len(plan.lines)} weights. Nothing is taken yet.", "bold"), Content("")]
        for head, name in plan.columns:
            rows.append(plain(f"column '{head}': {name or 'not taken'}", "" if name else "$faint"))
        rows += [plain(f"{glyphs.ask} {words}", "bold underline $ask") for words in plan.doubts]
        rows += [plain(f"{glyphs.bad} left out: {words}", "bold $bad") for words in plan.complaints]
        rows.append(Content(""))
        for line in plan.lines:
            before = "" if line.before is None else f"  replaces {line.before} g"
            rows.append(plain(f"{padded(line.cell, 20)} {padded(line.grams, 9, right=True)} g{before}"))
        keys = "Enter takes them, marked as imported; Escape leaves" if plan.lines else "Escape leaves"
        rows += [Content(""), Content.styled(keys, "$faint")]
        return Content("\n").join(rows)

    def action_take(self) -> None:
        """Take what is shown."""
        self.dismiss(self._plan if self._plan.lines else None)

    def action_leave(self) -> None:
        """Take nothing."""
        self.dismiss(None)

"""Help: a sentence for what is in focus, then what the signs mean, then every key."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from bench.screens.actions import ACTS, key_words
from bench.screens.glyphs import MARK_WORDS, GlyphSet
from bench.screens.safe_text import padded, plain
from bench.use_cases.view import BenchView

if TYPE_CHECKING:
    from textual.app import App

PEDAL = (
    "Foot pedal or keyboard: PageDown says yes to what is due, PageUp takes the last thing back. Nothing is ever "
    "deleted: taking back is recorded too."
)
CARD_COLUMNS = 69


def packed(words: Sequence[str], width: int) -> list[str]:
    """Return words side by side, none of them parted, on as few lines as they need.

    Parameters
    ----------
    words : Sequence[str]
        Short texts.
    width : int
        Cells a line may take.

    Returns
    -------
    list[str]
        Three blanks between two words.

    Examples
    --------
    >>> packed(["g go to", "k later", "b simulated bench"], 20)
    ['g go to   k later', 'b simulated bench']
    """
    lines: list[str] = []
    for each in words:
        if lines and len(lines[-1]) + 3 + len(each) <= width:
            lines[-1] += f"   {each}"
        else:
            lines.append(each)
    return lines


class HelpScreen(ModalScreen[None]):
    """Shows help until a key is pressed.

    Parameters
    ----------
    focus : str
        One sentence on what is in focus.
    view : BenchView
        For what is possible now.
    keys : Mapping[str, str]
        Keys that were remapped, by the action's id.
    glyphs : GlyphSet
        What the console can draw.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,q,enter", "leave", "Leave", id="help.leave")]

    def __init__(self, focus: str, view: BenchView, keys: Mapping[str, str], glyphs: GlyphSet) -> None:
        super().__init__(classes="card")
        self._sentence = focus
        self._view = view
        self._keys = keys
        self._glyphs = glyphs

    def compose(self) -> ComposeResult:
        """Lay out the sentence, the pedal, the signs, the keys.

        Yields
        ------
        Widget
            One text.
        """
        rows = [plain(self._sentence, "bold"), Content(""), plain(PEDAL), Content("")]
        rows.append(Content("   ".join(f"{self._glyphs.mark(word)} {word}" for word in MARK_WORDS)))
        rows.append(Content(""))
        not_now: dict[str, list[str]] = {}
        for act in ACTS:
            why, key = act.why(self._view), key_words(self._keys.get(act.id, act.key))
            if why:
                not_now.setdefault(why, []).append(f"{key} {act.label}")
            else:
                rows.append(Content.assemble(Content.styled(padded(key, 6), "bold $accent"), plain(act.words)))
        app: App[int] = cast("App[int]", self.app)  # pyright: ignore[reportUnknownMemberType] the library leaves it open
        width = min(CARD_COLUMNS, app.size.width - 8)
        # what is not possible is told once a reason, so that the rest can be found
        for why, keys in not_now.items():
            rows += [Content(""), plain(f"Not now: {why}", "bold")]
            rows += [plain(line, "$faint") for line in packed(keys, width)]
        rows += [Content(""), Content.styled("Escape leaves this card; arrow keys turn it.", "$faint")]
        with VerticalScroll(classes="sheet-of-paper"):
            yield Static(Content("\n").join(rows), markup=False)

    def action_leave(self) -> None:
        """Leave."""
        self.dismiss(None)

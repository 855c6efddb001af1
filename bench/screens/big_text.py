"""Words and numbers in large letters: the largest that fit the box they are given."""

from __future__ import annotations

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

from bench.screens.letters import SMALL, TALL, half_blocks, pixels, scaled
from bench.screens.safe_text import clipped, safe

MOST_TIMES = 6


def big_lines(text: str, *, width: int, height: int, blocks: bool = True, most: int = MOST_TIMES) -> list[str] | None:
    """Return a text in the largest letters that fit.

    Parameters
    ----------
    text : str
        The text.
    width, height : int
        Room in cells.
    blocks : bool
        The console has half blocks.
    most : int
        Largest factor to try.

    Returns
    -------
    list[str] or None
        Lines, or None when no large letters fit or a letter is not in the face.
    """
    for face in (TALL, SMALL):
        rows = pixels(text, face)
        if not rows or not rows[0]:
            return None
        for times in range(most, 0, -1):
            down = len(rows) * times
            lines = -(-down // 2) if blocks else down
            if len(rows[0]) * times <= width and lines <= height:
                return half_blocks(scaled(rows, times), blocks=blocks)
        # only the tall face is made larger; the small one is for what would not fit otherwise
        most = 1
    return None


class BigText(Widget):
    """A text that takes the largest letters its box has room for, plain bold words where none fit.

    Parameters
    ----------
    text : str
        What it says at first.
    most : int
        Largest factor.
    centred : bool
        In the middle of its box; otherwise on the left.
    id : str or None
        Widget id.
    classes : str or None
        Classes.
    """

    DEFAULT_CSS = "BigText { width: 1fr; height: auto; text-wrap: nowrap; }"

    def __init__(
        self,
        text: str = "",
        *,
        most: int = MOST_TIMES,
        centred: bool = False,
        id: str | None = None,  # noqa: A002 the screen library's name
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._text = text
        self._style = ""
        self._most = most
        self._centred = centred
        self.blocks = True

    @property
    def text(self) -> str:
        """What it says."""
        return self._text

    def put(self, text: str, style: str = "", *, most: int | None = None) -> None:
        """Say something else.

        Parameters
        ----------
        text : str
            The words.
        style : str
            Their style.
        most : int or None
            Largest factor from now on; None keeps it.
        """
        largest = most or self._most
        if (text, style, largest) != (self._text, self._style, self._most):
            self._text, self._style, self._most = text, style, largest
            self.refresh(layout=self.styles.height is not None and self.styles.height.is_auto)

    def lines(self, width: int, height: int) -> list[str]:
        """Return what is drawn in a box.

        Parameters
        ----------
        width, height : int
            The box in cells.

        Returns
        -------
        list[str]
            At least one line.
        """
        large = big_lines(self._text, width=width, height=height, blocks=self.blocks, most=self._most)
        if large is None:
            return [clipped(self._text, max(width, 1))]
        return large

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return the rows wanted: those of the letters that fit across.

        Parameters
        ----------
        container, viewport : Size
            Rooms.
        width : int
            Cells across.

        Returns
        -------
        int
            Rows.
        """
        del container, viewport
        return len(self.lines(width, 64))

    def render(self) -> Content:
        """Draw it.

        Returns
        -------
        Content
            The letters.
        """
        width, height = self.content_size
        lines = self.lines(width, max(height, 1))
        if self._centred:
            lines = [line.center(width).rstrip() for line in lines]
        top = max((height - len(lines)) // 2, 0) if self._centred else 0
        return Content.styled("\n" * top + "\n".join(safe(line) for line in lines), f"bold {self._style}".strip())

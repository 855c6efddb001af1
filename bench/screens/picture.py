"""A widget that draws itself for the room it really has."""

from __future__ import annotations

from collections.abc import Callable, Hashable

from textual.content import Content
from textual.geometry import Size
from textual.widget import Widget

Draw = Callable[[int, int], Content]
Rows = Callable[[int], int]


def nothing(_width: int, _height: int) -> Content:
    """Draw nothing.

    Returns
    -------
    Content
        Empty.
    """
    return Content("")


class Picture(Widget):
    """Calls a function with its width and height whenever it is drawn.

    Parameters
    ----------
    id : str or None
        Widget id.
    classes : str or None
        Classes.
    """

    DEFAULT_CSS = "Picture { width: 1fr; height: 1fr; text-wrap: nowrap; text-overflow: ellipsis; }"

    def __init__(
        self,
        *,
        id: str | None = None,  # noqa: A002 the screen library's name
        classes: str | None = None,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._draw: Draw = nothing
        self._rows: Rows | None = None
        self._key: object = None

    def put(self, draw: Draw, *, key: Hashable | object = None, rows: Rows | None = None) -> None:
        """Draw something else from now on.

        Parameters
        ----------
        draw : Draw
            Given width and height, returns the content.
        key : object
            What the drawing depends on; nothing is drawn again while it stays equal. None always draws.
        rows : Rows or None
            For a widget of automatic height: rows wanted at a width.
        """
        if key is not None and key == self._key:
            return
        before = self._rows(self.content_size.width) if self._rows is not None else None
        self._key, self._draw, self._rows = key, draw, rows
        after = rows(self.content_size.width) if rows is not None else None
        self.refresh(layout=before != after)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return the rows wanted.

        Parameters
        ----------
        container, viewport : Size
            Rooms.
        width : int
            Cells across.

        Returns
        -------
        int
            Rows; counted from the drawing itself where nobody says.
        """
        del container
        if self._rows is not None:
            return self._rows(width)
        text = self._draw(width, viewport.height)
        return len(text.plain.split("\n")) if text.plain else 0

    def render(self) -> Content:
        """Draw it.

        Returns
        -------
        Content
            As wide and high as there is room.
        """
        width, height = self.content_size
        if width < 1 or height < 1:
            return Content("")
        return self._draw(width, height)

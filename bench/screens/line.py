"""A piece of text on the screen that is never parsed as markup."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import Static

from bench.screens.safe_text import plain


class Line(Static):
    """Text from anywhere, shown exactly.

    Parameters
    ----------
    text : object
        What it says at first.
    id : str or None
        Widget id.
    classes : str or None
        Classes.
    """

    DEFAULT_CSS = "Line { width: 1fr; height: 1; text-wrap: nowrap; text-overflow: ellipsis; }"

    def __init__(
        self,
        text: object = "",
        *,
        id: str | None = None,  # noqa: A002 the screen library's name
        classes: str | None = None,
    ) -> None:
        super().__init__(plain(text), id=id, classes=classes, markup=False)
        self._now: Content | None = None

    def put(self, text: object, style: str = "") -> None:
        """Say something else; nothing is drawn when it is the same.

        Parameters
        ----------
        text : object
            Content that was made with `plain`, or any text.
        style : str
            Style for a text.
        """
        content = text if isinstance(text, Content) else plain(text, style)
        if self._now is None or content != self._now or content.spans != self._now.spans:
            self._now = content
            self.update(content)

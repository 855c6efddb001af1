"""The guide's pages with the one that is made from the table of actions, so that it cannot fall behind."""

from __future__ import annotations

from bench.guide.pages import Page, pages
from bench.screens.actions import ACTS, key_words

KEYS_TITLE = "Keys"


def keys_page() -> Page:
    """Return the page of all keys.

    Returns
    -------
    Page
        Made from the table of actions.
    """
    rows = [
        f"| {' or '.join(key_words(key) for key in act.key.split(','))} | {act.words} | `{act.id}` |" for act in ACTS
    ]
    text = "\n".join(
        [
            f"# {KEYS_TITLE}",
            "",
            "Everything can also be done with the mouse: a click on a hint below, on a step above, on a cell of the",
            "sheet; or from the list of everything (F2), where a word of what you want finds it.",
            "",
            "| key | does | name in the settings |",
            "|---|---|---|",
            *rows,
            "",
            "In a card: Tab goes to the next field, Enter on the last one does it, Escape leaves.",
            "",
        ]
    )
    return Page("keys", KEYS_TITLE, text)


def all_pages() -> tuple[Page, ...]:
    """Return all pages, the keys last.

    Returns
    -------
    tuple[Page, ...]
        In order.
    """
    return (*pages(), keys_page())

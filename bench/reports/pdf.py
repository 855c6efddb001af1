"""The certificate as PDF, where the library for it is installed. The HTML page stays the certificate."""

from __future__ import annotations

import importlib
import os
from collections.abc import Generator
from contextlib import contextmanager
from typing import Any, Literal

Paper = Literal["A4", "Letter"]


class PdfMissingError(Exception):
    """The library that makes PDF, or what it needs from the system, is not there.

    Parameters
    ----------
    found : str
        What was missing.
    """

    def __init__(self, found: str) -> None:
        self.found = found
        super().__init__(
            f"PDF: {found}; the HTML certificate is complete: open it and print it to PDF from any browser, "
            "or install spinledger with its extra: pip install 'spinledger[pdf]' (on Linux)"
        )


class OutsideRequestError(Exception):
    """A page asked for something from outside itself; nothing was fetched.

    Parameters
    ----------
    url : str
        What it asked for; kept cut to 120 characters.
    """

    def __init__(self, url: str) -> None:
        self.url = url[:120]
        super().__init__(f"PDF: the page asks for {self.url!r}; a certificate needs nothing from outside")


class _Nowhere:
    """Stands where the library would fetch: remembers what was asked for and fetches nothing."""

    _fail_on_errors = False  # read by the library: it carries on, and the caller refuses the page afterwards

    def __init__(self) -> None:
        self.asked: list[str] = []

    def __call__(self, url: str, *_: object, **__: object) -> dict[str, object]:
        self.asked.append(url)
        raise OutsideRequestError(url)


@contextmanager
def _same_day() -> Generator[None]:
    # the fonts' tables would carry the second of the writing: the convention of reproducible builds keeps it out
    before = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = before or "0"
    try:
        yield
    finally:
        if before is None:
            del os.environ["SOURCE_DATE_EPOCH"]


def certificate_pdf(html: str, *, paper: Paper) -> bytes:
    """Return a certificate's page as PDF.

    Parameters
    ----------
    html : str
        As `certificate_html` gave it.
    paper : Paper
        "A4" or "Letter".

    Returns
    -------
    bytes
        PDF; the same page gives the same bytes.

    Raises
    ------
    PdfMissingError
        When the library or a part of the system it needs is missing.
    OutsideRequestError
        When the page asks for anything from outside; nothing was fetched.
    """
    try:
        library: Any = importlib.import_module("weasyprint")  # it tells no types
    except (ImportError, OSError) as fault:
        raise PdfMissingError(str(fault).partition("\n")[0][:200]) from fault
    sheet = library.CSS(string=f"@page {{ size: {paper}; }}")
    nowhere = _Nowhere()
    with _same_day():
        made: bytes = library.HTML(string=html, url_fetcher=nowhere).write_pdf(stylesheets=[sheet])
    if nowhere.asked:
        raise OutsideRequestError(nowhere.asked[0])
    return made

"""The trail's checkpoint as one line of text, as a picture to scan, and read back from either."""

from __future__ import annotations

import re

import segno
from markupsafe import Markup

from bench.trail.contract import Checkpoint

PREFIX = "spinledger-checkpoint"
_LINE = re.compile(rf"{PREFIX}:1:(\d{{1,15}}):([0-9a-f]{{64}}):(.{{0,120}})", re.ASCII)


class CheckpointTextError(ValueError):
    """Text that should hold a checkpoint does not.

    Parameters
    ----------
    found : str
        What stood there; kept cut to 80 characters.
    """

    def __init__(self, found: str) -> None:
        self.found = found[:80]
        super().__init__(
            f"checkpoint: found {self.found!r}, wanted {PREFIX}:1:LENGTH:HASH:BENCH; "
            "take a certificate this program wrote, unchanged"
        )


def checkpoint_line(checkpoint: Checkpoint) -> str:
    """Return a checkpoint as one line, the same that its picture holds.

    Parameters
    ----------
    checkpoint : Checkpoint
        How far the trail had come.

    Returns
    -------
    str
        Prefix, version, length, hash of the last event, bench.

    Examples
    --------
    >>> checkpoint_line(Checkpoint(bench="slip", length=2, head="ab" * 32))[:40]
    'spinledger-checkpoint:1:2:ababababababab'
    """
    return f"{PREFIX}:1:{checkpoint.length}:{checkpoint.head}:{checkpoint.bench}"


def parse_checkpoint(line: str) -> Checkpoint:
    """Return the checkpoint a line holds.

    Parameters
    ----------
    line : str
        As scanned or copied.

    Returns
    -------
    Checkpoint
        What it says.

    Raises
    ------
    CheckpointTextError
        When it is no such line.
    """
    match = _LINE.fullmatch(line.strip())
    if match is None:
        raise CheckpointTextError(line)
    return Checkpoint(bench=match[3], length=int(match[1]), head=match[2])


def in_groups(digest: str, size: int = 8) -> str:
    """Return a hash in groups, so that a person can compare it with another.

    Parameters
    ----------
    digest : str
        Hex digits.
    size : int
        Digits a group.

    Returns
    -------
    str
        Groups with blanks between.

    Examples
    --------
    >>> in_groups("0123456789abcdef")
    '01234567 89abcdef'
    """
    return " ".join(digest[i : i + size] for i in range(0, len(digest), size))


def code_picture(text: str, *, title: str) -> Markup:
    """Return a QR code of this text as inline SVG without styles or scripts.

    Parameters
    ----------
    text : str
        What a scanner reads.
    title : str
        What a person who cannot see it is told; the program's own words, never a person's.

    Returns
    -------
    Markup
        SVG that fills the box it is put in.
    """
    drawn = segno.make(text.encode("utf-8", "replace"), error="m", micro=False)
    picture = drawn.svg_inline(border=2, omitsize=True, svgclass="code", lineclass=None, title=title)
    return Markup(picture)  # noqa: S704 made by the library from modules; the title is ours

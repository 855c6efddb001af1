"""Read the facts back from a certificate, and say in words what a newer one changes."""

from __future__ import annotations

from html.parser import HTMLParser

from bench.reports.checkpoint_code import CheckpointTextError, parse_checkpoint
from bench.trail.contract import Checkpoint

_VOID = frozenset({"meta", "br", "hr", "img", "link", "input"})


class _Reader(HTMLParser):
    """Collects the text of every element that names a fact."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.facts: dict[str, str] = {}
        self.checkpoint = ""
        self.signature = ""
        self._open: list[str | None] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "meta" and given.get("name") == "spinledger-checkpoint":
            self.checkpoint = given.get("content") or ""
        if tag == "meta" and given.get("name") == "spinledger-signature":
            self.signature = given.get("content") or ""
        if tag in _VOID:
            return
        key = given.get("data-fact")
        self._open.append(key)
        if key is not None:
            self.facts.setdefault(key, "")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Drawing elements that close themselves hold no facts."""

    def handle_endtag(self, tag: str) -> None:
        if tag not in _VOID and self._open:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        for key in self._open:
            if key is not None:
                self.facts[key] += data


def read_facts(html: str) -> dict[str, str]:
    """Return what a certificate says, fact by fact.

    Parameters
    ----------
    html : str
        A certificate this program wrote.

    Returns
    -------
    dict[str, str]
        Name of the fact, e.g. "piston 3" or "residual front", and its words.
    """
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return {key: " ".join(words.split()) for key, words in reader.facts.items()}


def read_signature(html: str) -> str:
    """Return the signature a certificate carries.

    Parameters
    ----------
    html : str
        A certificate this program wrote.

    Returns
    -------
    str
        Public key and signature in hex with a colon between; empty when it has none.
    """
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader.signature


def read_checkpoint(html: str) -> Checkpoint:
    """Return the checkpoint a certificate carries.

    Parameters
    ----------
    html : str
        A certificate this program wrote.

    Returns
    -------
    Checkpoint
        As written into the page.

    Raises
    ------
    CheckpointTextError
        When there is none, or the words and the hidden line of the page differ.
    """
    reader = _Reader()
    reader.feed(html)
    reader.close()
    checkpoint = parse_checkpoint(reader.checkpoint)
    printed = "".join(reader.facts.get("head", "").split())
    if printed != checkpoint.head or reader.facts.get("length", "").strip() != str(checkpoint.length):
        raise CheckpointTextError(f"printed hash {printed} beside {reader.checkpoint}")
    return checkpoint


def compare_certificates(older: str, newer: str) -> tuple[str, ...]:
    """Return what a newer certificate changes, a sentence a fact.

    Parameters
    ----------
    older : str
        The certificate that is replaced.
    newer : str
        The one that replaces it.

    Returns
    -------
    tuple[str, ...]
        In the order of the newer page; the record's own checkpoint is left out, because it always moves.
    """
    before, after = read_facts(older), read_facts(newer)
    left_out = {"length", "head", "replaces"}
    words: list[str] = []
    for key, value in after.items():
        if key in left_out or before.get(key) == value:
            continue
        was = before.get(key)
        words.append(f"{key}: now {value!r}, was not there" if was is None else f"{key}: now {value!r}, was {was!r}")
    words.extend(f"{key}: gone, was {was!r}" for key, was in before.items() if key not in after and key not in left_out)
    return tuple(words)

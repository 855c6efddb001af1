"""The bench's key: what it signs, which keys the record knows, and whether each signature fits.

A key is a file of this computer. Its public half is shown in the record before it signs anything, so old signatures can
be checked for ever, also when the key itself is lost or another one took its place.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from bench.trail import ed25519
from bench.trail.contract import Checkpoint
from bench.trail.disk import put_in_place
from bench.trail.errors import RecordError
from bench.trail.events import Event
from bench.trail.keeping_events import KeyShown, RecordSigned

UNKNOWN_KEY = "signed by no key that this record knows"
NO_FIT = "the signature does not fit"


class KeyFileError(RecordError):
    """The bench's key cannot be used."""


class Entries(Protocol):
    """What is asked of a record here."""

    @property
    def bench(self) -> str:
        """Whose it is."""
        ...

    def events(self, *, job: str | None = None, after: int = 0) -> Iterator[Event]:
        """Return entries in order."""
        ...


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature and the key it was made with.

    Attributes
    ----------
    public : str
        Public key in hex.
    signature : str
        In hex.
    """

    public: str
    signature: str


def signed_text(checkpoint: Checkpoint) -> bytes:
    """Return what is signed for a checkpoint: bench, length and head, each on a line.

    Parameters
    ----------
    checkpoint : Checkpoint
        How far the record had come.

    Returns
    -------
    bytes
        UTF-8.
    """
    return f"spinledger record\n{checkpoint.length}\n{checkpoint.head}\n{checkpoint.bench}\n".encode()


def make_key(path: Path) -> str:
    """Make a new key in place of the one that is there, readable to its owner only.

    Parameters
    ----------
    path : Path
        The key's file.

    Returns
    -------
    str
        Its public half in hex.

    Raises
    ------
    KeyFileError
        When it cannot be written.
    """
    seed = ed25519.new_seed()
    public = ed25519.public_key(seed).hex()
    half = path.with_name(f".{path.name}.half")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        half.unlink(missing_ok=True)
        with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
            json.dump({"kind": "Ed25519", "private": seed.hex(), "public": public}, file, indent=1)
        put_in_place(half, path)
    except OSError as fault:
        raise KeyFileError(str(path), found=fault.strerror or "cannot be written", do="look at its rights") from fault
    return public


def read_key(path: Path) -> tuple[bytes, str] | None:
    """Return the bench's key.

    Parameters
    ----------
    path : Path
        The key's file.

    Returns
    -------
    tuple[bytes, str] or None
        Private half, and public half in hex; None where there is none.

    Raises
    ------
    KeyFileError
        When the file is no key, or its halves do not belong together.
    """
    if not path.exists():
        return None
    do = "`spinledger key new --reason WHY` makes another one"
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        seed, public = bytes.fromhex(told["private"]), str(told["public"])
        right = ed25519.public_key(seed).hex() == public
    except (OSError, ValueError, KeyError, TypeError) as fault:
        raise KeyFileError(str(path), found="no key that can be read", do=do) from fault
    if not right:
        raise KeyFileError(str(path), found="a key whose halves do not belong together", do=do)
    return seed, public


def keys_shown(trail: Entries) -> dict[str, int]:
    """Return the keys that a record knows.

    Parameters
    ----------
    trail : Entries
        The record.

    Returns
    -------
    dict[str, int]
        Public halves in hex, oldest first, with the number of the entry that shows each.
    """
    found: dict[str, int] = {}
    for event in trail.events(job=""):
        if isinstance(event.payload, KeyShown):
            found.setdefault(event.payload.public, event.seq)
    return found


def sign_checkpoint(trail: Entries, path: Path, checkpoint: Checkpoint) -> Signature | None:
    """Sign a checkpoint with the bench's key.

    Parameters
    ----------
    trail : Entries
        The record; it must know the key.
    path : Path
        The key's file.
    checkpoint : Checkpoint
        What to sign.

    Returns
    -------
    Signature or None
        None where the bench has no key.

    Raises
    ------
    KeyFileError
        When the key cannot be used, or the record does not know it.
    """
    key = read_key(path)
    if key is None:
        return None
    seed, public = key
    if public not in keys_shown(trail):
        do = "`spinledger key new --reason WHY` makes its own"
        raise KeyFileError(str(path), found="a key that this record does not know", do=do)
    return Signature(public, ed25519.sign(seed, signed_text(checkpoint)).hex())


def why_not_signed(signature: Signature, checkpoint: Checkpoint, known: dict[str, int]) -> str:
    """Return what is wrong with a signature.

    Parameters
    ----------
    signature : Signature
        As found.
    checkpoint : Checkpoint
        What it should be of.
    known : dict[str, int]
        Keys as the record shows them.

    Returns
    -------
    str
        Empty when it is one of a known key and fits; a signature that fits is worth nothing with an unknown key.
    """
    if signature.public not in known:
        return UNKNOWN_KEY
    try:
        key, made = bytes.fromhex(signature.public), bytes.fromhex(signature.signature)
    except ValueError:
        return NO_FIT
    return "" if ed25519.fits(key, signed_text(checkpoint), made) else NO_FIT


def signature_faults(trail: Entries, signed: Iterable[Event], hash_at: Callable[[int], str]) -> Iterator[str]:
    """Check signatures of a record.

    Parameters
    ----------
    trail : Entries
        The record.
    signed : Iterable[Event]
        Its entries that hold a signature.
    hash_at : Callable[[int], str]
        Hash of the entry of this number; "" where there is none.

    Yields
    ------
    str
        One sentence a fault.
    """
    known = keys_shown(trail)
    for event in signed:
        told = event.payload
        if not isinstance(told, RecordSigned):
            continue
        before = {public: seq for public, seq in known.items() if seq < event.seq}
        point = Checkpoint(trail.bench, told.length, told.head)
        wrong = why_not_signed(Signature(told.public, told.signature), point, before)
        if not wrong and (told.length >= event.seq or hash_at(told.length) != told.head):
            wrong = "it signs entries that are not here"
        if wrong:
            yield f"event {event.seq}: {wrong}"

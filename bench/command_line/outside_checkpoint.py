"""What was seen of a record outside of it: a certificate, a backup, a text copy, or a scanned line."""

from __future__ import annotations

import hashlib
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bench.use_cases.errors import RefusedError

if TYPE_CHECKING:
    from bench.trail.contract import Checkpoint
    from bench.trail.sqlite_store import SqliteTrail

LONGEST_PAGE = 25_000_000
_LINE = "spinledger-checkpoint:"


@dataclass(frozen=True, slots=True)
class SeenOutside:
    """A checkpoint from outside.

    Attributes
    ----------
    name : str
        What it came from, for sentences.
    checkpoint : Checkpoint
        How far the record had come.
    page_sha256 : str
        Digest of the certificate it stands on; "" for all else.
    faults : tuple[str, ...]
        What is wrong with the witness itself.
    signature : str
        Public key and signature in hex with a colon between, as the certificate carries them; "" for none.
    """

    name: str
    checkpoint: Checkpoint
    page_sha256: str = ""
    faults: tuple[str, ...] = ()
    signature: str = ""


def seen_outside(given: str) -> SeenOutside:
    """Return the checkpoint that a witness tells.

    Parameters
    ----------
    given : str
        A path, or the line that a certificate's code holds.

    Returns
    -------
    SeenOutside
        What it saw.

    Raises
    ------
    RefusedError
        When it cannot be read or tells no checkpoint.
    """
    from bench.reports.checkpoint_code import CheckpointTextError, parse_checkpoint

    if given.startswith(_LINE):
        try:
            return SeenOutside("the scanned line", parse_checkpoint(given))
        except CheckpointTextError as fault:
            raise RefusedError("checkpoint", found=str(fault)) from fault
    path = Path(given)
    try:
        if path.exists() and not path.is_file():
            raise RefusedError(given, found="a folder, device or pipe", wanted="a certificate, a backup or a text copy")
        with path.open("rb") as file:
            start = file.read(16)
    except OSError as fault:
        raise RefusedError(given, found=fault.strerror or "cannot be read") from fault
    if start.startswith(b"SQLite format 3\0"):
        return _of_backup(path)
    return _of_text_copy(path) if start.lstrip().startswith(b"{") else _of_certificate(path)


def _of_backup(path: Path) -> SeenOutside:
    from bench.trail.file_look import look_at_file
    from bench.trail.sqlite_opening import connect_to_look, settle
    from bench.trail.sqlite_reading import RecordReader

    look_at_file(path, newer_is_fine=True)
    connection, copy = connect_to_look(path)
    try:
        with closing(connection):
            settle(connection, str(path), read_only=True)
            reader = RecordReader(connection, path)
            fault = reader.verify()
            faults = () if fault is None else (f"the backup itself is not whole: event {fault.seq}: {fault.found}",)
            return SeenOutside(path.name, reader.checkpoint(), faults=faults)
    finally:
        if copy is not None:
            copy.cleanup()


def _of_text_copy(path: Path) -> SeenOutside:
    from bench.trail.contract import Checkpoint
    from bench.trail.errors import CopyError
    from bench.trail.text_copy import rows_of_text

    try:
        last = None
        for last in rows_of_text(path):  # noqa: B007 only the last one is wanted, proved by all before it
            pass
    except CopyError as fault:
        raise RefusedError(str(path), found=str(fault)) from fault
    if last is None:
        raise RefusedError(str(path), found="no whole line", wanted="a text copy of a record")
    from bench.trail.codec import parsed

    return SeenOutside(path.name, Checkpoint(str(parsed(last.body)["bench"]), last.seq, last.hash))


def _of_certificate(path: Path) -> SeenOutside:
    from bench.reports.certificate_compare import read_checkpoint, read_signature
    from bench.reports.checkpoint_code import CheckpointTextError, parse_checkpoint

    with path.open("rb") as file:
        data = file.read(LONGEST_PAGE)
    page = data.decode("utf-8", "replace")
    digest = hashlib.sha256(data).hexdigest()
    try:
        return SeenOutside(path.name, read_checkpoint(page), digest, signature=read_signature(page))
    except CheckpointTextError as fault:
        # words and code of one page that tell two stories: that is a finding, not a wrong file
        at = page.find(_LINE)
        end = page.find('"', at)
        try:
            told = parse_checkpoint(page[at:end] if 0 <= at < end else "")
        except CheckpointTextError:
            raise RefusedError(
                str(path), found="no checkpoint in it", wanted="a certificate, a backup or a text copy of this program"
            ) from fault
        return SeenOutside(path.name, told, digest, faults=("the page contradicts itself: it was changed",))


def outside_faults(trail: SqliteTrail, seen: SeenOutside) -> list[str]:
    """Compare a record with what was seen of it outside.

    Parameters
    ----------
    trail : SqliteTrail
        The record; its chain is not walked here.
    seen : SeenOutside
        The witness.

    Returns
    -------
    list[str]
        What does not agree, in words; empty when all does.
    """
    from bench.trail.checkpoints import against

    wrong = list(seen.faults)
    fault = against(trail, seen.checkpoint)
    if fault is not None:
        wrong.append(f"{fault.found}; wanted {fault.wanted}")
    elif seen.page_sha256:
        wrong += _page_faults(trail, seen) + _signature_faults(trail, seen)
    return wrong


def _signature_faults(trail: SqliteTrail, seen: SeenOutside) -> list[str]:
    """A signature that fits says nothing while its key is none that this record has shown."""
    if not seen.signature:
        return []
    from bench.trail.signing import Signature, keys_shown, why_not_signed

    public, _, made = seen.signature.partition(":")
    why = why_not_signed(Signature(public, made), seen.checkpoint, keys_shown(trail))
    return [f"{why} ({public[:16]})"] if why else []


def _page_faults(trail: SqliteTrail, seen: SeenOutside) -> list[str]:
    """The record keeps the digest of each certificate it handed out."""
    from bench.trail.events import CertificateIssued

    for event in trail.events(after=seen.checkpoint.length):
        issued = event.payload
        if isinstance(issued, CertificateIssued) and issued.length == seen.checkpoint.length:
            if issued.sha256 == seen.page_sha256:
                return []
            return [f"the page was changed since it was issued as {issued.file_name} (entry {event.seq})"]
    if trail.checkpoint().length == seen.checkpoint.length:
        return ["the events it saw are unchanged, but the entry that tells of itself is gone from the record's end"]
    return ["the events it saw are unchanged, but the record tells of no certificate over them"]

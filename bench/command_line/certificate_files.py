"""Writes certificates into this computer's folder for them, whole or not at all."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from bench import __version__
from bench.command_line.places import Places
from bench.trail.contract import Checkpoint
from bench.trail.disk import write_whole
from bench.trail.keeping_events import RecordSigned
from bench.trail.signing import KeyFileError, Signature, sign_checkpoint
from bench.use_cases.errors import RefusedError
from bench.use_cases.scribe import Scribe
from bench.use_cases.sign_off import WrittenFile
from bench.use_cases.view import Review


def certificate_writer(places: Places) -> Callable[[Scribe, Review, Checkpoint], WrittenFile]:
    """Return what writes certificates into this computer's folder for them.

    Parameters
    ----------
    places : Places
        Where things live.

    Returns
    -------
    Callable[[Scribe, Review, Checkpoint], WrittenFile]
        Writes atomically: the old whole file or the new whole one.
    """

    def write(scribe: Scribe, review: Review, checkpoint: Checkpoint) -> WrittenFile:
        from bench.reports.certificate import certificate_html

        state = scribe.state
        if state is None:
            raise RefusedError("certificate", found="no job is open")
        signature, unsigned_why = _signature(scribe, places.key, checkpoint)
        before = state.certificates[-1] if state.certificates else None
        written_utc = datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")

        def page(changes: tuple[str, ...]) -> str:
            return certificate_html(
                state=state,
                review=review,
                checkpoint=checkpoint,
                written_utc=written_utc,
                app_version=__version__,
                replaces="" if before is None else f"{before.file_name} of {before.entry.utc[:10]}",
                changes=changes,
                signature=signature,
            )

        html = page(())
        if before is not None:
            html = page(_changes(places.certificates / before.file_name, before.sha256, html))
        data = html.encode("utf-8")
        number = "".join(c if c.isalnum() or c == "-" else "_" for c in state.number)[:40]
        name = f"certificate-{number}-{len(state.certificates) + 1}.html"
        path = places.certificates / name
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, data)
        signed = None
        if signature is not None:
            signed = RecordSigned(
                length=checkpoint.length,
                head=checkpoint.head,
                public=signature.public,
                signature=signature.signature,
            )
        digest = hashlib.sha256(data).hexdigest()
        return WrittenFile(str(path), name, digest, signed=signed, unsigned_why=unsigned_why)

    return write


def _signature(scribe: Scribe, key: Path, checkpoint: Checkpoint) -> tuple[Signature | None, str]:
    """A key that cannot be used keeps nobody from a certificate; it is said."""
    try:
        return sign_checkpoint(scribe.trail, key, checkpoint), ""
    except KeyFileError as fault:
        return None, f"not signed: {fault}"


def _changes(older: Path, sha256: str, html: str) -> tuple[str, ...]:
    """What a page says otherwise than the one it replaces, where that one is still here as it was issued."""
    from bench.reports.certificate_compare import compare_certificates

    try:
        data = older.read_bytes()
    except OSError:
        return ()
    if hashlib.sha256(data).hexdigest() != sha256:
        return ()
    return compare_certificates(data.decode("utf-8", "replace"), html)

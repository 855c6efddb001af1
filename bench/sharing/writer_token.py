"""Which copy of a record ships: a token beside it, so that a copied record is known before it goes another way."""

from __future__ import annotations

import json
import socket
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from bench.sharing.forks import ForkedChainError
from bench.trail.identifiers import new_id

if TYPE_CHECKING:
    from psycopg import Connection

_LAST = b"SELECT turn, writer, place, since FROM spinledger.writers WHERE bench = %s ORDER BY turn DESC LIMIT 1"
_CLAIM = b"INSERT INTO spinledger.writers (bench, turn, writer, place, reason) VALUES (%s, %s, %s, %s, %s)"


@dataclass(frozen=True, slots=True)
class WriterToken:
    """One copy of a record.

    Attributes
    ----------
    writer : str
        Made once, at random.
    place : str
        Computer and file, for people.
    """

    writer: str
    place: str


def token_of(record: Path) -> WriterToken:
    """Return the token of a record, made when this copy of it has none.

    Parameters
    ----------
    record : Path
        The file.

    Returns
    -------
    WriterToken
        Another one when the record was copied, also together with the token's file.
    """
    beside = record.with_name(f"{record.name}.share.json")
    host = socket.gethostname()
    here = {"host": host, "file": record.stat().st_ino}
    kept = _read(beside)
    if {key: kept.get(key) for key in here} != here or not isinstance(kept.get("writer"), str):
        kept = {"writer": new_id(), **here}
        part = beside.with_name(f"{beside.name}.part")
        part.write_text(json.dumps(kept), encoding="utf-8")
        part.replace(beside)
    return WriterToken(str(kept["writer"]), f"{host}, {record.absolute()}")


def _read(path: Path) -> dict[str, Any]:
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return cast("dict[str, Any]", found) if isinstance(found, dict) else {}


def claim(connection: Connection, bench: str, token: WriterToken, *, where: str, moved: str = "") -> None:
    """Claim a bench's chain for a copy of its record; in the transaction of the caller, which holds the chain.

    Parameters
    ----------
    connection : Connection
        To the shared record.
    bench : str
        Whose chain.
    token : WriterToken
        This copy.
    where : str
        The shared record, for messages.
    moved : str
        Why another copy ships from now on; "" when none does.

    Raises
    ------
    ForkedChainError
        When another copy shipped last and no reason was given.
    """
    row = connection.execute(_LAST, (bench,)).fetchone()
    if row is not None and row[1] == token.writer:
        return
    if row is not None and not moved:
        raise ForkedChainError(
            where,
            found=f"events of bench '{bench}' come from another copy of its record ({row[2]}, since "
            f"{row[3]:%Y-%m-%d}): this one was copied, moved or restored",
            do="if that copy is out of use for good, say so once: spinledger share --moved 'new computer'; "
            "else give this bench another name and a new record",
            alike=0,
        )  # fmt: skip
    turn = 1 if row is None else int(row[0]) + 1
    connection.execute(_CLAIM, (bench, turn, token.writer, token.place, moved[:200] or "first"))

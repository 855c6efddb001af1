"""Reaching the shared record: the address, the connection, and what its faults mean to a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bench.trail.errors import (
    ForeignFileError,
    NewerRecordError,
    RecordBusyError,
    RecordDamagedError,
    RecordError,
    RecordFullError,
    RecordReadOnlyError,
)

if TYPE_CHECKING:
    import psycopg

SCHEMES = ("postgresql://", "postgres://")
PATIENCE_S = 5
"""How long a database may take to answer the first time. [s]"""


def is_shared(address: str) -> bool:
    """Return whether an address is that of a shared record.

    Parameters
    ----------
    address : str
        As given.

    Returns
    -------
    bool
        True for postgresql://…
    """
    return address.startswith(SCHEMES)


def shown(address: str) -> str:
    """Return an address without its password.

    Parameters
    ----------
    address : str
        As given.

    Returns
    -------
    str
        For messages.
    """
    from urllib.parse import urlsplit

    try:
        parts = urlsplit(address)
    except ValueError:
        return "postgresql://…"
    return f"postgresql://{parts.hostname or ''}{parts.path}"


def connect_shared(address: str, *, make: bool = False, look_only: bool = False) -> psycopg.Connection:
    """Connect to a shared record.

    Parameters
    ----------
    address : str
        postgresql://user@host/database; a password belongs into the login's own password file.
    make : bool
        Make the tables when there are none.
    look_only : bool
        Every transaction only reads.

    Returns
    -------
    psycopg.Connection
        Each statement is a transaction of its own unless one is begun.

    Raises
    ------
    RecordError
        When it cannot be reached, or holds no shared record of a version that is known.
    """
    where = shown(address)
    try:
        import psycopg
    except ImportError as fault:
        raise RecordReadOnlyError(
            where, found="the extra 'share' is not installed", do="install it with: pip install 'spinledger[share]'"
        ) from fault
    from bench.trail.postgres_schema import SCHEMA_VERSION, prepare, version_of

    try:
        connection = psycopg.connect(
            address,
            autocommit=True,
            connect_timeout=PATIENCE_S,
            application_name="spinledger",
            keepalives=1,
            keepalives_idle=20,
            keepalives_interval=5,
            keepalives_count=3,
            tcp_user_timeout=20_000,
            prepare_threshold=2,
        )
    except psycopg.Error as fault:
        raise told(fault, where) from fault
    try:
        if look_only:
            connection.execute("SET default_transaction_read_only = on")
        version = version_of(connection)
        if version is None and make:
            prepare(connection)
        _refuse_unknown(SCHEMA_VERSION if make and version is None else version, where)
    except psycopg.Error as fault:
        connection.close()
        raise told(fault, where) from fault
    except BaseException:
        connection.close()
        raise
    return connection


def _refuse_unknown(version: int | None, where: str) -> None:
    from bench.trail.postgres_schema import SCHEMA_VERSION

    if version is None:
        raise ForeignFileError(
            where,
            found="no shared record in this database",
            do="make one with its owner's login: spinledger share --prepare --to postgresql://owner@host/database",
        )
    if version > SCHEMA_VERSION:
        raise NewerRecordError(where, found=f"tables of version {version}", do="use the newer program")


def told(fault: psycopg.Error, where: str) -> RecordError:  # noqa: PLR0911 one fault a line
    """Return a fault of the database as a fault of the record.

    Parameters
    ----------
    fault : psycopg.Error
        As raised.
    where : str
        The address without its password.

    Returns
    -------
    RecordError
        To be raised from it.
    """
    import psycopg
    from psycopg import errors

    words = (fault.diag.message_primary or str(fault)).strip().splitlines()
    found = words[0] if words else type(fault).__name__
    match fault:
        case errors.DiskFull():
            return RecordFullError(where, found="the database's disk is full", do="free some space there")
        case errors.InsufficientPrivilege() | errors.ReadOnlySqlTransaction():
            return RecordReadOnlyError(
                where, found=found, do="look at the login's rights: a bench needs the role spinledger_bench"
            )
        case errors.InvalidPassword() | errors.InvalidAuthorizationSpecification():
            return RecordReadOnlyError(where, found=found, do="look at login and password")
        case errors.UniqueViolation():
            return RecordDamagedError(where, found=found, do="ask for the shared record's state: spinledger verify")
        case errors.DataCorrupted() | errors.IndexCorrupted():
            return RecordDamagedError(where, found=found, do="restore the database's newest backup")
        case psycopg.OperationalError() | psycopg.InterfaceError():
            return RecordBusyError(
                where, found=f"cannot be reached ({found})", do="look at network and database, then try again"
            )
        case _:
            return RecordError(where, found=found, do="look at the database; nothing was recorded")

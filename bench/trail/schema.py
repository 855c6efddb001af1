"""The record's tables. The trail is the truth; the projections can be rebuilt from it at any time."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache
from typing import TYPE_CHECKING

from bench.trail.job_lines import WORD_COLUMNS

if TYPE_CHECKING:
    from sqlite_utils import Database

APPLICATION_ID = 0x53504C47  # "SPLG"
SCHEMA_VERSION = 1

_KEPT: dict[str, str] = {
    "trail": """
CREATE TABLE trail (
    seq  INTEGER PRIMARY KEY CHECK (seq > 0),
    id   TEXT NOT NULL UNIQUE,
    job  TEXT NOT NULL,
    kind TEXT NOT NULL,
    body BLOB NOT NULL,
    hash TEXT NOT NULL CHECK (length(hash) = 64)
) STRICT""",
    "bench": "CREATE TABLE bench (name TEXT NOT NULL) STRICT",
    # photos and texts, by the hash that their event tells; never interpreted
    "attachments": """
CREATE TABLE attachments (
    sha256  TEXT NOT NULL PRIMARY KEY CHECK (length(sha256) = 64),
    content BLOB NOT NULL CHECK (length(content) <= 25000000)
) STRICT""",
    # jobs of other benches, to look at; their own chains' hashes stay
    "guests": """
CREATE TABLE guests (
    bench TEXT NOT NULL,
    seq   INTEGER NOT NULL CHECK (seq > 0),
    job   TEXT NOT NULL,
    body  BLOB NOT NULL,
    hash  TEXT NOT NULL CHECK (length(hash) = 64),
    PRIMARY KEY (bench, seq)
) STRICT""",
}
_TRAIL_BY_JOB = "CREATE INDEX trail_by_job ON trail (job, seq)"
PROJECTIONS = ("job_lines", "job_words")
LINE_TABLE: dict[str, type] = {
    "opened_seq": int,
    **dict.fromkeys(("number", "title", "customer", "engine", "opened_utc", "last_utc", "step"), str),
    "simulated": int,
    "last_seq": int,
}
_LINE_KEY = "opened_seq"
_LINE_INDEXES = {("last_seq", False), ("number", True)}
"""Column and whether its values are unique, of each index of the list of jobs."""
# the words are made plain before they are stored, so that the search table splits them at spaces only
_WORD_TABLE = (
    f'CREATE VIRTUAL TABLE job_words USING fts5({", ".join(WORD_COLUMNS)}, tokenize = "unicode61 remove_diacritics 0")'
)


def _guards() -> list[str]:
    return [
        f"CREATE TRIGGER {table}_keeps_{verb.lower()}s_out BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'the {table} table is append-only'); END"
        for table in _KEPT
        for verb in ("UPDATE", "DELETE")
    ]


def make_kept_tables(connection: sqlite3.Connection) -> None:
    """Make the tables that hold what happened, and the triggers that keep it.

    Parameters
    ----------
    connection : sqlite3.Connection
        In a transaction, to an empty file.
    """
    for statement in [*_KEPT.values(), _TRAIL_BY_JOB, *_guards()]:
        connection.execute(statement)


def make_projections(database: Database) -> None:
    """Make the list of jobs and the search table, empty; older ones are dropped.

    Parameters
    ----------
    database : Database
        In a transaction.
    """
    for name in PROJECTIONS:
        database.conn.execute(f"DROP TABLE IF EXISTS {name}")
    lines = database.table("job_lines")
    lines.create(LINE_TABLE, pk=_LINE_KEY, strict=True)
    for column, unique in sorted(_LINE_INDEXES):
        lines.create_index([column], unique=unique)
    database.conn.execute(_WORD_TABLE)


@cache
def _kept_texts() -> dict[str, str]:
    """Tell the schema of what is kept."""
    with closing(sqlite3.connect(":memory:")) as connection:
        make_kept_tables(connection)
        return _texts(connection)


def _texts(connection: sqlite3.Connection) -> dict[str, str]:
    rows = connection.execute("SELECT type || ' ' || name, tbl_name, sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {str(name): f"{table}: {text}" for name, table, text in rows}


def kept_differences(connection: sqlite3.Connection) -> list[str]:
    """Compare the kept tables and their triggers with those this program makes.

    Parameters
    ----------
    connection : sqlite3.Connection
        To the record.

    Returns
    -------
    list[str]
        What differs, in words. What nobody knows counts too: a view or trigger of unknown make has no business in a
        record.
    """
    kept, found = _kept_texts(), _texts(connection)
    wrong = [f"{name} is missing" for name in kept if name not in found]
    wrong += [f"{name} is not as this program makes it" for name in kept if found.get(name, kept[name]) != kept[name]]
    wrong += [f"{name} is not of this program" for name in found if name not in kept and not _is_projected(name, found)]
    return wrong


def _is_projected(name: str, found: dict[str, str]) -> bool:
    kind, _, plain = name.partition(" ")
    table = found[name].partition(":")[0]
    return (kind in {"table", "index"} and table in PROJECTIONS) or (kind == "table" and plain.startswith("job_words_"))


def projections_are_known(connection: sqlite3.Connection, *, read_only: bool) -> bool:
    """Return whether the projections have the form this program gives them.

    Parameters
    ----------
    connection : sqlite3.Connection
        To the record.
    read_only : bool
        They will only be read: their columns are enough, what else they need to be written does not matter.

    Returns
    -------
    bool
        False when they are to be rebuilt.

    Notes
    -----
    The library that makes them is not asked: loading it takes longer than all the rest of opening a record.
    """
    lines = connection.execute("SELECT name, type, pk FROM pragma_table_info('job_lines')").fetchall()
    words = [str(row[0]) for row in connection.execute("SELECT name FROM pragma_table_info('job_words')")]
    if [str(name) for name, _, _ in lines] != list(LINE_TABLE) or words != list(WORD_COLUMNS):
        return False
    if read_only:
        return True
    kinds = {int: "INTEGER", str: "TEXT"}
    wanted = [(name, kinds[kind], int(name == _LINE_KEY)) for name, kind in LINE_TABLE.items()]
    indexes = {
        (str(column), bool(unique))
        for name, unique in connection.execute("SELECT name, \"unique\" FROM pragma_index_list('job_lines')").fetchall()
        for (column,) in connection.execute("SELECT name FROM pragma_index_info(?)", (name,))
    }
    strict = connection.execute("SELECT strict FROM pragma_table_list('job_lines') WHERE schema = 'main'").fetchone()
    text = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'job_words'").fetchone()
    return lines == wanted and indexes == _LINE_INDEXES and strict == (1,) and text == (_WORD_TABLE,)

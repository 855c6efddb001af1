"""The shared record's tables in PostgreSQL: what may only grow, who may do what, and what can be rebuilt.

The rules of the record on disk hold here too: the trail takes rows and never changes one. A chain a bench, its
places without a gap, and a bench writes under the login that shipped its first event only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, LiteralString

if TYPE_CHECKING:
    from psycopg import Connection

SCHEMA_VERSION = 1
CHANNEL = "spinledger"
"""Every listener is told on it what was shipped: the bench's name and its new length."""

_TABLES: tuple[LiteralString, ...] = (
    "CREATE SCHEMA spinledger",
    "CREATE TABLE spinledger.about (version integer NOT NULL, made timestamptz NOT NULL DEFAULT now())",
    # login: who may write this chain; writer: which copy of the record does, and where it stands, for people
    """
CREATE TABLE spinledger.benches (
    bench  text PRIMARY KEY CHECK (bench <> ''),
    login  name NOT NULL DEFAULT session_user,
    since  timestamptz NOT NULL DEFAULT now()
)""",
    """
CREATE TABLE spinledger.writers (
    bench  text NOT NULL REFERENCES spinledger.benches,
    turn   integer NOT NULL CHECK (turn > 0),
    writer text NOT NULL,
    place  text NOT NULL,
    reason text NOT NULL,
    since  timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (bench, turn)
)""",
    """
CREATE TABLE spinledger.trail (
    bench text   NOT NULL REFERENCES spinledger.benches,
    seq   bigint NOT NULL CHECK (seq > 0),
    id    text   NOT NULL,
    job   text   NOT NULL,
    kind  text   NOT NULL,
    body  bytea  NOT NULL,
    hash  text   NOT NULL CHECK (length(hash) = 64),
    PRIMARY KEY (bench, seq),
    UNIQUE (bench, id)
)""",
    "CREATE INDEX trail_by_job ON spinledger.trail (bench, job, seq)",
    # who holds a job: each hand-over or take-over is one more turn, and a turn is given once
    """
CREATE TABLE spinledger.holders (
    bench  text NOT NULL,
    job    text NOT NULL,
    turn   integer NOT NULL CHECK (turn > 0),
    holder text NOT NULL,
    by     text NOT NULL,
    reason text NOT NULL CHECK (reason <> ''),
    since  timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (bench, job, turn)
)""",
    # photos and texts, by the hash that their event tells; never interpreted
    """
CREATE TABLE spinledger.attachments (
    sha256  text PRIMARY KEY CHECK (length(sha256) = 64),
    content bytea NOT NULL CHECK (length(content) <= 25000000)
)""",
)

_GUARDS: tuple[LiteralString, ...] = (
    """
CREATE FUNCTION spinledger.only_grows() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'the % table is append-only', TG_TABLE_NAME USING ERRCODE = 'insufficient_privilege';
END $$""",
    """
CREATE FUNCTION spinledger.goes_on() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE part record;
BEGIN
    FOR part IN SELECT bench, min(seq) AS first, max(seq) AS last, count(*) AS many FROM fresh GROUP BY bench LOOP
        IF part.last - part.first + 1 <> part.many
           OR (part.first > 1 AND NOT EXISTS (
               SELECT 1 FROM spinledger.trail WHERE bench = part.bench AND seq = part.first - 1)) THEN
            RAISE EXCEPTION 'events of bench % do not follow one another', part.bench
                USING ERRCODE = 'integrity_constraint_violation';
        END IF;
        IF NOT EXISTS (SELECT 1 FROM spinledger.benches WHERE bench = part.bench AND login = session_user) THEN
            RAISE EXCEPTION 'the chain of bench % belongs to another login', part.bench
                USING ERRCODE = 'insufficient_privilege';
        END IF;
        PERFORM pg_notify('spinledger', part.last || ' ' || part.bench);
    END LOOP;
    RETURN NULL;
END $$""",
    """
CREATE TRIGGER trail_goes_on AFTER INSERT ON spinledger.trail REFERENCING NEW TABLE AS fresh
    FOR EACH STATEMENT EXECUTE FUNCTION spinledger.goes_on()""",
)

KEPT = ("trail", "benches", "writers", "holders", "attachments", "about")

# projections: one row a job, moved on with its events and made anew from the trail at any time
_LINES: tuple[LiteralString, ...] = (
    """
CREATE TABLE spinledger.job_lines (
    bench      text    NOT NULL,
    number     text    NOT NULL,
    title      text    NOT NULL,
    customer   text    NOT NULL,
    engine     text    NOT NULL,
    opened_utc text    NOT NULL,
    last_utc   text    NOT NULL,
    step       text    NOT NULL,
    simulated  boolean NOT NULL,
    last_seq   bigint  NOT NULL,
    words      tsvector NOT NULL,
    seconds    double precision NOT NULL,
    runs       integer NOT NULL,
    cuts       integer NOT NULL,
    sets       integer NOT NULL,
    sets_out   integer NOT NULL,
    checks     integer NOT NULL,
    checks_failed integer NOT NULL,
    signed     boolean NOT NULL,
    within     boolean NOT NULL,
    PRIMARY KEY (bench, number)
)""",
    "CREATE INDEX job_lines_by_words ON spinledger.job_lines USING gin (words)",
    "CREATE INDEX job_lines_by_last ON spinledger.job_lines (last_utc DESC)",
    # jobs with events that their line does not tell of yet
    """
CREATE TABLE spinledger.jobs_due (
    bench text NOT NULL,
    job   text NOT NULL,
    PRIMARY KEY (bench, job)
)""",
)

_ROLES: tuple[LiteralString, ...] = (
    """
DO $$ BEGIN
    IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'spinledger_bench') THEN
        CREATE ROLE spinledger_bench NOLOGIN;
    END IF;
    IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = 'spinledger_office') THEN
        CREATE ROLE spinledger_office NOLOGIN;
    END IF;
END $$""",
    "REVOKE ALL ON SCHEMA spinledger FROM PUBLIC",
    "REVOKE ALL ON ALL TABLES IN SCHEMA spinledger FROM PUBLIC",
    "GRANT USAGE ON SCHEMA spinledger TO spinledger_bench, spinledger_office",
    "GRANT SELECT ON ALL TABLES IN SCHEMA spinledger TO spinledger_bench, spinledger_office",
    """
GRANT INSERT ON spinledger.trail, spinledger.benches, spinledger.writers, spinledger.holders, spinledger.attachments
    TO spinledger_bench""",
    "GRANT INSERT, UPDATE, DELETE ON spinledger.job_lines, spinledger.jobs_due TO spinledger_bench",
)


def prepare(connection: Connection) -> None:
    """Make the tables, their guards and the two roles, in one transaction.

    Parameters
    ----------
    connection : Connection
        Of a login that owns the database and may make roles.
    """
    with connection.transaction():
        for statement in (*_TABLES, *_LINES, *_GUARDS):
            connection.execute(statement)
        for table in KEPT:
            connection.execute(
                f"CREATE TRIGGER {table}_only_grows BEFORE UPDATE OR DELETE OR TRUNCATE ON spinledger.{table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION spinledger.only_grows()".encode()
            )
        for statement in _ROLES:
            connection.execute(statement)
        connection.execute("INSERT INTO spinledger.about (version) VALUES (%s)", (SCHEMA_VERSION,))


def version_of(connection: Connection) -> int | None:
    """Return the version of the tables there, None when there are none.

    Parameters
    ----------
    connection : Connection
        To the database.

    Returns
    -------
    int or None
        As told by the tables.
    """
    there = connection.execute("SELECT to_regclass('spinledger.about')").fetchone()
    if there is None or there[0] is None:
        return None
    row = connection.execute("SELECT max(version) FROM spinledger.about").fetchone()
    return int(row[0]) if row and row[0] is not None else None

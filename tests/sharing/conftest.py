from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

HERE = Path(__file__).parent
# tests are no package: the pieces beside a test are found by their folder
sys.path[:0] = [str(HERE), str(HERE.parent / "trail")]

from postgres_server import Server, running_server, why_not  # noqa: E402


@pytest.fixture
def tmp_path(tmp_path: Path) -> Iterator[Path]:
    """A folder in memory where there is one: syncs would only wait."""
    memory = Path("/dev/shm")
    if not os.access(memory, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(prefix="spinledger-test-", dir=memory) as folder:
        yield Path(folder)


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    reason = why_not()
    if reason:
        pytest.skip(reason)
    pytest.importorskip("psycopg", reason="the extra 'share' is not installed")
    with running_server() as one:
        yield one


@pytest.fixture
def address(server: Server) -> str:
    """An empty shared record."""
    from bench.trail.postgres_opening import connect_shared

    connection = connect_shared(server.address(), make=True)
    # the guards are set aside to empty the tables: quicker than making them anew
    connection.execute("SET session_replication_role = replica")
    connection.execute(
        "TRUNCATE spinledger.trail, spinledger.writers, spinledger.benches, spinledger.holders, "
        "spinledger.attachments, spinledger.job_lines, spinledger.jobs_due"
    )
    connection.close()
    return server.address()


@pytest.fixture
def logins(server: Server, address: str) -> Callable[[str, str], str]:
    """Make a login with a role and return its address."""

    def make(name: str, role: str) -> str:
        from bench.trail.postgres_opening import connect_shared

        connection = connect_shared(address)
        if connection.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", (name,)).fetchone() is None:
            connection.execute(f"CREATE ROLE {name} LOGIN IN ROLE {role}".encode())
        connection.close()
        return server.address(user=name)

    return make

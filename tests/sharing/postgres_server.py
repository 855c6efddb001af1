"""A PostgreSQL server of the tests' own: in a temporary folder, on a unix socket only, as a user that is not root."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path


def find_binaries() -> Path | None:
    """Return the folder of initdb and postgres, None where there is none."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
    return versions[-1].parent if versions else None


def _as_other_user() -> tuple[list[str], int | None]:
    """Return what stands before a command so that it does not run as root, and the user's number."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return [], None
    for name in ("postgres", "nobody"):
        try:
            user = pwd.getpwnam(name)
        except KeyError:
            continue
        return ["setpriv", f"--reuid={user.pw_uid}", f"--regid={user.pw_gid}", "--clear-groups", "--"], user.pw_uid
    return [], None


def why_not() -> str:
    """Return why no server can be started here; "" when one can."""
    if find_binaries() is None:
        return "PostgreSQL is not installed here (Debian: apt-get install postgresql)"
    if os.name == "nt":
        return "the tests start PostgreSQL on a unix socket, which this system has not"
    if os.geteuid() == 0 and not shutil.which("setpriv"):
        return "PostgreSQL refuses root, and there is no setpriv to run it as another user"
    return ""


@dataclass
class Server:
    """A running server; can be stopped and started again."""

    folder: Path
    binaries: Path
    before: list[str]
    process: subprocess.Popen[bytes] | None = None
    options: list[str] = field(default_factory=list)

    def address(self, user: str = "postgres", database: str = "postgres") -> str:
        return f"postgresql://{user}@/{database}?host={self.folder}"

    def start(self) -> None:
        log = (self.folder / "log").open("ab")
        self.process = subprocess.Popen(
            [*self.before, str(self.binaries / "postgres"), "-D", str(self.folder / "data"), "-k", str(self.folder),
             "-c", "listen_addresses=", *self.options],
            stdout=log, stderr=log, cwd=self.folder, start_new_session=True,
        )  # fmt: skip
        log.close()
        until = time.monotonic() + 60
        ready = [str(self.binaries / "pg_isready"), "-q", "-h", str(self.folder)]
        while subprocess.run(ready, check=False).returncode != 0:
            if self.process.poll() is not None or time.monotonic() > until:
                raise RuntimeError((self.folder / "log").read_text()[-2000:])
            time.sleep(0.05)

    def stop(self, how: str = "INT") -> None:
        """INT ends at once with a clean shutdown, QUIT as if it had crashed."""
        if self.process is not None:
            import signal

            self.process.send_signal(getattr(signal, f"SIG{how}"))
            self.process.wait(timeout=60)
            self.process = None


@contextmanager
def running_server(*, durable: bool = False, options: tuple[str, ...] = ()) -> Iterator[Server]:
    """Start a server and end it; nothing is left behind."""
    binaries = find_binaries()
    assert binaries is not None
    before, number = _as_other_user()
    memory = "/dev/shm"
    roomy = os.access(memory, os.W_OK) and shutil.disk_usage(memory).free > 1_000_000_000
    top = memory if roomy and not durable else None
    with tempfile.TemporaryDirectory(prefix="spinledger-pg-", dir=top) as name:
        folder = Path(name)
        if number is not None:
            os.chown(folder, number, -1)
        subprocess.run(
            [*before, str(binaries / "initdb"), "-D", str(folder / "data"), "-U", "postgres", "-A", "trust", "-E", "UTF8",
             "--locale=C", "--no-sync", "--no-instructions"],
            check=True, capture_output=True, cwd=folder,
        )  # fmt: skip
        quick = [] if durable else ["-c", "fsync=off", "-c", "full_page_writes=off", "-c", "synchronous_commit=off"]
        server = Server(folder, binaries, before, options=[*quick, *options])
        server.start()
        try:
            yield server
        finally:
            server.stop()

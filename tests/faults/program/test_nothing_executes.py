"""Nothing that lies beside the record runs, nothing listens, and files that are none are refused."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from bench.command_line import main as command_line
from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.settings import Settings
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    trail = open_trail(Places(tmp_path / "home"), Settings())
    open_job(scribe_for(trail, Settings(by="mk")), demo_spec(), year=2031)
    trail.close()
    return tmp_path / "home"


def test_no_file_beside_the_record_is_run(home: Path) -> None:
    canary = home / "ran"
    code = f"open({str(canary)!r}, 'w').write('x')\n"
    for name in ("sqlite_utils.py", "pydantic.py", "json.py", "bench.py", "sitecustomize.py", "usercustomize.py",
                 "rfc8785.py", "segno.py", "conftest.py", "setup.py"):  # fmt: skip
        (home / name).write_text(code)
    (home / ".env").write_text("SPINLEDGER_BY=evil\nPYTHONSTARTUP=sitecustomize.py\n")
    (home / "sqlite3.dll").write_bytes(b"MZ")
    (home / "profiles").mkdir()
    (home / "profiles" / "x.py").write_text(code)
    script = Path(sys.executable).with_name("spinledger")
    words = [str(script)] if script.exists() else [sys.executable, "-P", "-m", "bench.command_line.main"]
    for command in (
        ["job", "show", "2031-0001"],
        ["verify", "--full"],
        ["instruments", "--profiles"],
        ["doctor", "--no-ports"],
    ):
        done = subprocess.run([*words, *command], cwd=home, capture_output=True, text=True, check=False, timeout=60)
        assert done.returncode in {0, 1, 2}, done.stderr
        assert "evil" not in done.stdout
    assert not canary.exists()


@pytest.mark.skipif(not Path("/proc/self/net/tcp").exists(), reason="asks Linux about sockets")
def test_a_running_bench_listens_to_nobody(home: Path) -> None:
    from bench.command_line.wiring import start_bench

    before = listening()
    running = start_bench(Places(home), Settings())
    try:
        assert listening() == before
        assert running.desk.view().jobs
    finally:
        running.stop()


def listening() -> set[str]:
    """Inodes of this process's sockets that wait for somebody."""
    mine = set()
    for one in Path("/proc/self/fd").iterdir():
        try:
            told = str(one.readlink())
        except OSError:
            continue
        if told.startswith("socket:["):
            mine.add(told[8:-1])
    waiting = set()
    for table in ("tcp", "tcp6"):
        path = Path("/proc/self/net") / table
        if path.exists():
            rows = [line.split() for line in path.read_text(encoding="ascii").splitlines()[1:]]
            waiting |= {row[9] for row in rows if row[3] == "0A"}
    return mine & waiting


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes are POSIX")
@pytest.mark.parametrize(
    "words", [("job", "import"), ("job", "attach", "2031-0001"), ("restore",), ("verify", "--against")]
)
def test_a_pipe_or_device_is_no_file(home: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero"), tmp_path):
        done = subprocess.run(
            [sys.executable, "-m", "bench.command_line.main", *words, str(path)],
            capture_output=True, text=True, check=False, timeout=20,
        )  # fmt: skip
        assert done.returncode in {4, 5, 6}, (path, done.stderr)
        assert "Traceback" not in done.stderr


def test_the_certificate_folder_may_be_a_link_but_no_file_is_followed(home: Path, tmp_path: Path) -> None:
    outside = tmp_path / "outside.html"
    outside.write_text("mine")
    (home / "certificates").mkdir()
    (home / "certificates" / "certificate-2031-0001-1.html").symlink_to(outside)
    assert command_line.run(["certificate", "2031-0001"]) == 0
    assert outside.read_text() == "mine"

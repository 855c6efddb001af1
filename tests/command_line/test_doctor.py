"""More than twenty faults are planted, and each is named with one next step."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest

from bench.command_line import main as command_line
from bench.command_line.doctor_command import examine
from bench.command_line.doctor_computer import TerminalSeen, check_drivers, check_ports, check_program, check_terminal
from bench.command_line.doctor_finding import Finding, How
from bench.command_line.doctor_record import check_clock, check_copies, check_disk, check_record
from bench.command_line.exit_codes import ExitCode
from bench.command_line.keys_seen import key_words
from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.settings import Settings
from bench.command_line.terminal_reset import RESET
from bench.trail.text_copy import extend_text_copy
from bench.trail.writer_lock import WriterLock
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job
from bench.use_cases.write_note import write_note

NOW = datetime.now(UTC)
MOUNTS = "/dev/sda1 / ext4 rw,relatime 0 0\n"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    trail = open_trail(Places(tmp_path / "home"), Settings(bench="south"))
    scribe = scribe_for(trail, Settings(by="mk"))
    open_job(scribe, demo_spec(), year=2031)
    for n in range(5):
        write_note(scribe, f"note {n}")
    trail.close()
    return tmp_path / "home"


@dataclass
class Bench:
    """A healthy bench on which one fault is planted."""

    home: Path
    stick: Path
    settings: Settings
    find: Callable[[], list[Finding]]

    @property
    def record(self) -> Path:
        return self.home / "record.db"


def care(stick: Path, **more: object) -> Settings:
    return Settings.model_validate({"bench": "south", "care": {"backup_folder": str(stick), **more}})


def backed_up(bench: Bench, *, days_ago: float = 1.0) -> None:
    from bench.trail.backup import back_up

    trail = open_trail(Places(bench.home), Settings())
    assert back_up(trail, bench.stick, now=NOW - timedelta(days=days_ago)).fault == ""
    trail.close()


@pytest.fixture
def bench(home: Path, tmp_path: Path) -> Bench:
    stick = tmp_path / "stick"
    stick.mkdir()
    made = Bench(home, stick, care(stick), list)

    def find() -> list[Finding]:
        inside, end = check_record(made.record)
        return [
            *inside,
            *check_disk(made.record, mounts=MOUNTS),
            *check_copies(made.settings.care, made.record, end, now=NOW),
            *check_clock(NOW),
        ]

    made.find = find
    return made


def raw(bench: Bench, *statements: str) -> None:
    connection = sqlite3.connect(bench.record, isolation_level=None)
    for statement in statements:
        connection.execute(statement)
    connection.close()


def gone(bench: Bench) -> None:
    for path in bench.home.glob("record.db*"):
        path.unlink()


def lost_end(bench: Bench) -> None:
    kept = bench.record.read_bytes()
    trail = open_trail(Places(bench.home), Settings())
    scribe = scribe_for(trail, Settings(by="mk"))
    scribe.choose("2031-0001")
    write_note(scribe, "a late one")
    trail.close()
    backed_up(bench)
    bench.record.write_bytes(kept)


def changed_event(bench: Bench) -> None:
    raw(
        bench,
        "DROP TRIGGER trail_keeps_updates_out",
        "UPDATE trail SET body = CAST(replace(CAST(body AS TEXT), 'note 3', 'note 9') AS BLOB) WHERE seq = 5",
        "CREATE TRIGGER trail_keeps_updates_out BEFORE UPDATE ON trail "
        "BEGIN SELECT RAISE(ABORT, 'the trail table is append-only'); END",
    )


def text_copy_that_is_longer(bench: Bench) -> None:
    kept = bench.record.read_bytes()
    bench.settings = care(bench.stick, text_copy=str(bench.stick / "copy.jsonl"))
    trail = open_trail(Places(bench.home), Settings())
    scribe = scribe_for(trail, Settings(by="mk"))
    scribe.choose("2031-0001")
    write_note(scribe, "a late one")
    extend_text_copy(trail, bench.stick / "copy.jsonl")
    trail.close()
    bench.record.write_bytes(kept)


def text_copy_that_is_behind(bench: Bench) -> None:
    bench.settings = care(bench.stick, text_copy=str(bench.stick / "copy.jsonl"))
    trail = open_trail(Places(bench.home), Settings())
    extend_text_copy(trail, bench.stick / "copy.jsonl")
    scribe = scribe_for(trail, Settings(by="mk"))
    scribe.choose("2031-0001")
    write_note(scribe, "a late one")
    trail.close()


def set_care(**more: object) -> Callable[[Bench], None]:
    def plant(bench: Bench) -> None:
        bench.settings = care(bench.stick, **more)

    return plant


PLANTED: dict[str, Callable[[Bench], object]] = {
    "record-none": gone,
    "record-foreign": lambda b: b.record.write_bytes(b"not a record"),
    "record-newer": lambda b: raw(b, "PRAGMA user_version = 99"),
    "record-damaged": changed_event,
    "record-damaged cut short": lambda b: b.record.write_bytes(b.record.read_bytes()[:8192]),
    "record-damaged guard": lambda b: raw(b, "DROP TRIGGER trail_keeps_deletes_out"),
    "record-lists": lambda b: raw(b, "DELETE FROM job_lines"),
    "record-lost-end": lost_end,
    "clock-behind": lambda b: raw(b, "SELECT 1"),  # planted by the clock below
    "backup-nowhere": lambda b: setattr(b, "settings", Settings()),
    "backup-away": lambda b: b.stick.rmdir(),
    "backup-none": lambda b: None,
    "backup-old": lambda b: backed_up(b, days_ago=9),
    "backup-dated": lambda b: backed_up(b, days_ago=-40),
    "backup-same-disk": lambda b: None,
    "backup-half": lambda b: (b.stick / ".south-1.half").write_bytes(b"x"),
    "text-away": set_care(text_copy="/nowhere/at/all/copy.jsonl"),
    "text-none": lambda b: set_care(text_copy=str(b.stick / "copy.jsonl"))(b),
    "text-broken": lambda b: (
        set_care(text_copy=str(b.stick / "copy.jsonl"))(b),
        (b.stick / "copy.jsonl").write_text("date;weight\n"),
    ),
    "text-ahead": text_copy_that_is_longer,
    "text-behind": text_copy_that_is_behind,
}


@pytest.mark.parametrize("planted", [name for name in PLANTED if name != "clock-behind"])
def test_a_planted_fault_is_named(bench: Bench, planted: str) -> None:
    name = planted.split(maxsplit=1)[0]
    if planted not in {"backup-none", "backup-same-disk", "backup-away", "backup-old", "backup-dated"}:
        backed_up(bench)
    if planted == "backup-away":
        shutil.rmtree(bench.stick)
    else:
        PLANTED[planted](bench)
    named = [one for one in bench.find() if one.id == name]
    assert len(named) == 1, [one.id for one in bench.find()]
    assert named[0].how is not How.FINE
    assert named[0].remedy
    assert named[0].words


def test_a_healthy_bench_has_nothing_to_tell(bench: Bench) -> None:
    backed_up(bench)
    told = {one.id: one.how for one in bench.find()}
    # the test's stick lies on the same disk: that alone is worth a look
    assert {id_ for id_, how in told.items() if how is not How.FINE} <= {"backup-same-disk", "disk-low"}
    assert {"record-whole", "record-durable", "disk", "backup", "clock"} <= set(told)


def test_the_clock_is_compared_with_what_is_recorded(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    from bench.command_line import doctor_record

    class Early(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
            return NOW - timedelta(days=400)

    monkeypatch.setattr(doctor_record, "datetime", Early)
    assert "clock-behind" in {one.id for one in check_record(bench.record)[0]}
    assert [one.id for one in check_clock(datetime(2000, 1, 1, tzinfo=UTC))] == ["clock-dead"]
    assert [one.id for one in check_clock(datetime(2107, 1, 1, tzinfo=UTC))] == ["clock-far"]


def test_who_has_the_record(bench: Bench) -> None:
    lock = WriterLock(bench.record)
    assert lock.take()
    (found,) = [one for one in check_record(bench.record)[0] if one.id == "record-in-use"]
    assert f"process {os.getpid()}" in found.words
    assert " since " in found.words
    lock.release()


@pytest.mark.parametrize("kept", ["record.db", "home"])
def test_rights(bench: Bench, monkeypatch: pytest.MonkeyPatch, kept: str) -> None:
    real = os.access  # root may write everything, so the system's answer is planted
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path).name != kept and real(path, mode))
    (found,) = [one for one in check_record(bench.record)[0] if one.id == "record-rights"]
    assert kept in found.words
    monkeypatch.setattr(os, "access", lambda path, mode: path != bench.stick and real(path, mode))
    assert "backup-rights" in {one.id for one in bench.find()}


@pytest.mark.parametrize(
    ("id_", "mounts", "free"),
    [
        ("disk-network", "{home} nfs4 rw", None),
        ("disk-network", "{home} fuse.sshfs rw", None),
        ("disk-network", "{home} cifs rw", None),
        ("disk-memory", "{home} tmpfs rw", None),
        ("disk-read-only", "{home} ext4 ro,relatime", None),
        ("disk-full", "{home} ext4 rw", 99_000_000),
        ("disk-low", "{home} ext4 rw", 999_000_000),
    ],
)
def test_what_the_record_lies_on(home: Path, id_: str, mounts: str, free: int | None) -> None:
    table = MOUNTS + f"somewhere {mounts.format(home=str(home.resolve()))} 0 0\n"
    found = check_disk(home / "record.db", mounts=table, free=free)
    assert id_ in {one.id for one in found}
    assert all(one.remedy for one in found if one.how is not How.FINE)


@pytest.mark.parametrize("name", ["OneDrive - Yard", "Dropbox", "Google Drive", "marked"])
def test_a_folder_that_others_copy_about(tmp_path: Path, name: str) -> None:
    folder = tmp_path / name / "bench"
    folder.mkdir(parents=True)
    if name == "marked":
        (folder.parent / ".stfolder").mkdir()
    assert "disk-synchronised" in {one.id for one in check_disk(folder / "record.db", mounts=MOUNTS)}


def seen(**changes: object) -> TerminalSeen:
    values = {"is_terminal": True, "encoding": "utf-8", "columns": 120, "lines": 40, "kind": "xterm-256color"}
    return TerminalSeen(**(values | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("id_", "terminal"),
    [
        ("terminal", seen()),
        ("terminal-none", seen(is_terminal=False)),
        ("terminal-encoding", seen(encoding="latin-1")),
        ("terminal-dumb", seen(kind="dumb")),
        ("terminal-small", seen(columns=30)),
        ("terminal-narrow", seen(lines=20)),
    ],
)
def test_terminals(id_: str, terminal: TerminalSeen) -> None:
    assert [one.id for one in check_terminal(terminal)] == [id_]


@pytest.mark.parametrize(
    ("id_", "state"),
    [("port-absent", "absent"), ("port-busy", "busy"), ("port-rights", "forbidden"), ("port-silent", "silent"),
     ("port-garbled", "garbled"), ("port", "open")],
)  # fmt: skip
def test_ports(id_: str, state: str) -> None:
    told = SimpleNamespace(port=SimpleNamespace(url="/dev/ttyUSB0"), state=state, detail="told", remedy="do this")
    settings = Settings.model_validate({"scale": {"name": "s", "profile": "plain-stream", "url": "/dev/ttyUSB0"}})
    (found,) = check_ports(settings, [told])  # type: ignore[list-item]
    assert found.id == id_
    assert bool(found.remedy) == (state != "open")


def test_a_real_port_that_is_not_there(home: Path, tmp_path: Path) -> None:
    (home / "settings.toml").write_text(
        f'[scale]\nurl = "{tmp_path}/none"\n[balancer]\nfolder = "{tmp_path}/nowhere"\n', encoding="utf-8"
    )
    told = {one.id: one for one in examine()}
    assert told["port-absent"].how is How.FAULT
    assert told["folder-absent"].how is How.FAULT


def test_drivers_and_program(tmp_path: Path) -> None:
    states = [
        SimpleNamespace(name="a", origin="built in", state="works", words="", foreign=False),
        SimpleNamespace(name="b", origin="shop", state="fails", words="line 3: no such key", foreign=False),
        SimpleNamespace(name="c", origin="x 1.0", state="not asked for", words="y", foreign=True),
    ]
    assert [one.id for one in check_drivers(states)] == ["drivers", "driver-fails", "driver-foreign"]  # type: ignore[arg-type]
    (tmp_path / "last-fault.txt").write_text("x")
    assert [one.id for one in check_program(tmp_path, sqlite_version=(3, 31, 0))] == [
        "sqlite-old",
        "last-fault",
        "program",
    ]
    (tmp_path / "file").write_text("")
    assert "home-no-folder" in {one.id for one in check_program(tmp_path / "file")}


def test_a_broken_profile_and_broken_settings(home: Path) -> None:
    (home / "profiles").mkdir()
    (home / "profiles" / "odd.toml").write_text('kind = "scale"\nname = "odd"\n', encoding="utf-8")
    (home / "settings.toml").write_text("[scale]\nurll = 1\n", encoding="utf-8")
    told = {one.id: one for one in examine(ports=False)}
    assert told["settings-wrong"].how is How.FAULT
    assert "'scale.url'" in told["settings-wrong"].words
    assert told["driver-fails"].how is How.FAULT


def call(*words: str) -> int:
    return int(command_line.run(list(words)))


def test_the_command(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert call("doctor", "--no-ports") == 0
    said = capsys.readouterr().out
    assert "fine   record" in said
    assert "0 faults" in said
    assert call("doctor", "--no-ports", "--json") == 0
    assert json.loads(capsys.readouterr().out)["fine"] is True
    (home / "record.db").write_bytes(b"rubbish \x1b[2J")
    assert call("doctor", "--no-ports", "--json") == ExitCode.NEGATIVE
    told = json.loads(capsys.readouterr().out)
    assert told["fine"] is False
    assert [one["id"] for one in told["findings"] if one["how"] == "fault"] == ["record-foreign"]


def test_a_relative_home(home: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SPINLEDGER_HOME", "somewhere")
    assert "home-relative" in {one.id for one in examine(ports=False)}


def test_a_terminal_is_put_right_and_keys_are_told() -> None:
    words = [sys.executable, "-m", "bench.command_line.main", "doctor"]
    done = subprocess.run([*words, "--reset-terminal"], capture_output=True, check=True)
    assert done.stdout.decode() == RESET
    for needed in ("\x1b[?1000l", "\x1b[?1049l", "\x1b[?25h"):
        assert needed in RESET
    assert key_words(b"\x1b[6~") == "page down: 1b 5b 36 7e"
    assert key_words(b"abc").endswith("a pedal or scanner that types)")
    assert "\x1b" not in key_words(b"\x1b]0;x\x07")
    assert (
        subprocess.run([*words, "--keys"], capture_output=True, check=False, stdin=subprocess.DEVNULL).returncode == 2
    )

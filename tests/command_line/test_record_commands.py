"""The record from the command line: verified, found, compared, amended, taken over, looked at by a second program."""

from __future__ import annotations

import json
import os
import re
import sqlite3
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from bench.command_line import main as command_line
from bench.command_line.exit_codes import ExitCode
from bench.command_line.places import Places
from bench.command_line.progress import ProgressBar, bar_words
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.say import explain
from bench.command_line.settings import Settings
from bench.models.job import Cell, JobSpec, cells_in_order
from bench.trail.events import BobweightBuilt, WeightTaken
from bench.use_cases.commands import ChooseJob
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job
from bench.use_cases.review_job import review_job
from bench.use_cases.write_note import write_note

GRAMS = {"piston": "603.7", "pin": "188.5", "rings": "30.1", "locks": "2.9", "rod_whole": "818.2",
         "rod_small_end": "250.0", "rod_bearings": "100.2"}  # fmt: skip
RUN = "RUN {n}\r\nSPEED 500 rpm\r\nFRONT AMOUNT {f} g ANGLE 10.0 deg\r\nREAR AMOUNT {r} g ANGLE 5.0 deg\r\nEND RUN\r\n"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in [name for name in os.environ if name.startswith("SPINLEDGER_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def call(*words: str) -> int:
    try:
        return int(command_line.run(list(words)))
    except SystemExit as fault:
        return int(fault.code or 0)
    except Exception as fault:  # noqa: BLE001 as main does
        return explain(fault)


def told(capsys: pytest.CaptureFixture[str]) -> str:
    return capsys.readouterr().out


def shop_spec(**changes: Any) -> JobSpec:
    return demo_spec().model_copy(update={"simulated": False, "serial": "SK-9"} | changes)


def weighed_job(home: Path, *, bench: str = "south", spec: JobSpec | None = None) -> str:
    """A V8 whose parts are weighed and whose bobweights are made to their targets."""
    trail = open_trail(Places(home), Settings(bench=bench, by="mk"))
    scribe = scribe_for(trail, Settings(by="mk"))
    open_job(scribe, spec or shop_spec(), year=2031)
    assert scribe.state is not None
    scribe.record([weight(cell, GRAMS[cell.kind]) for cell in cells_in_order(scribe.state.spec)])
    for line in review_job(scribe.state).throws:
        assert line.target_g is not None
        made = Decimal(f"{line.target_g:.1f}")
        scribe.record([
            BobweightBuilt(throw=line.throw, shown=made, unit="g", grams=made, target_g=line.target_g,
                           standard_uncertainty_g=0.05)
        ])  # fmt: skip
    number = scribe.state.number
    trail.close()
    return number


def weight(cell: Cell, grams: str) -> WeightTaken:
    value = Decimal(grams)
    return WeightTaken(
        cell=cell, shown=value, unit="g", grams=value, refined_g=float(value), standard_uncertainty_g=0.03
    )


@pytest.fixture
def job(home: Path) -> str:
    return weighed_job(home)


# -- verify --------------------------------------------------------------------------------------------------------


def test_verify_full_names_what_the_chain_alone_does_not_see(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(b"\xff\xd8 not really")
    assert call("job", "attach", job, str(photo), "--about", "worn keyway") == 0
    assert call("verify", "--full") == 0
    assert "whole in every part: 58 entries" in told(capsys)
    connection = sqlite3.connect(home / "record.db", isolation_level=None)
    connection.execute("UPDATE job_lines SET customer = 'somebody else'")
    connection.close()
    assert call("verify") == 0
    assert call("verify", "--full", "--json") == ExitCode.NOT_WHOLE
    found = json.loads(told(capsys).partition("\n")[2])
    assert found["faults"] == [f"the list of jobs says something else of job {job} than its events"]


def test_verify_against_a_backup_a_text_copy_and_a_scanned_line(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from bench.trail.text_copy import extend_text_copy

    stick = tmp_path / "stick"
    stick.mkdir()
    assert call("backup", str(stick)) == 0
    (backup,) = stick.iterdir()
    copy = tmp_path / "copy.jsonl"
    trail = open_trail(Places(home), Settings())
    extend_text_copy(trail, copy)
    end = trail.checkpoint()
    trail.close()
    assert call("job", "note", job, "back from the grinder", "--by", "mk") == 0
    line = f"spinledger-checkpoint:1:{end.length}:{end.head}:{end.bench}"
    capsys.readouterr()
    for witness in (str(backup), str(copy), line):
        assert call("verify", "--against", witness) == 0
        assert f"the {end.length} events it saw are unchanged" in told(capsys)
    # the record is put back to before what they saw: the chain alone is whole, each witness tells
    (home / "record.db").unlink()
    weighed_job(home)
    for witness in (str(backup), str(copy), line):
        assert call("verify", "--against", witness) == ExitCode.NOT_WHOLE
        said = told(capsys)
        assert said.startswith("whole: ")
        assert "does not agree" in said
    assert call("verify", "--against", line.replace(end.bench, "north")) == ExitCode.NOT_WHOLE
    assert "one of bench 'north'" in told(capsys)
    assert call("verify", "--against", "spinledger-checkpoint:1:x") == ExitCode.INPUT_REFUSED
    assert call("verify", "--against", str(tmp_path)) == ExitCode.INPUT_REFUSED


def test_a_certificate_that_was_changed_by_one_letter(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("certificate", job) == 0
    page = Path(told(capsys).strip())
    assert call("verify", "--against", str(page)) == 0
    forged = tmp_path / "forged.html"
    forged.write_text(page.read_text(encoding="utf-8").replace("603.7", "603.8", 1), encoding="utf-8")
    assert call("verify", "--against", str(forged)) == ExitCode.NOT_WHOLE
    assert "was changed since it was issued" in told(capsys)


def test_the_bar_moves_only_where_somebody_watches(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    quiet = ProgressBar(10)
    quiet("chain", 5)
    quiet.end()
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    bar = ProgressBar(10_000_000)
    for done in range(5000, 100_000, 5000):
        bar("chain", done)
    bar("events", 0)
    bar.end()
    shown = capsys.readouterr().err
    assert 2 <= shown.count("\r") <= 6  # not once a call
    assert all(len(line) < 80 for line in shown.split("\r"))
    assert bar_words("chain", 0, 0).startswith("chain  [####")


# -- finding, comparing, correcting ---------------------------------------------------------------------------------


def test_a_job_is_found_by_every_word_a_person_may_remember(
    home: Path, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    call("job", "note", job, "Größere Bohrung", "--by", "mk")
    for words in (["skerry"], ["SK-9"], [job], ["marine", "v8"], ["groß"], ["piston"], [str(2026)]):
        capsys.readouterr()
        assert call("job", "find", *words, "--json") == 0, words
        assert [row["number"] for row in json.loads(told(capsys))] == [job]
    assert call("job", "find", "heron") == ExitCode.NEGATIVE
    assert "no job with heron" in capsys.readouterr().err


def test_amending_needs_who_and_why_and_keeps_the_old_words(
    home: Path, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call("job", "amend", job, "--serial", "SK-8", "--reason", "misread") == ExitCode.INPUT_REFUSED
    assert "initials" in capsys.readouterr().err
    assert call("job", "amend", job, "--reason", "x", "--by", "mk", "--serial", "SK-9") == ExitCode.INPUT_REFUSED
    assert call("job", "amend", job, "--reason", " ", "--by", "mk", "--serial", "SK-8") == ExitCode.INPUT_REFUSED
    assert call("job", "amend", job, "--reason", "x", "--by", "mk", "--speed", "nan") == ExitCode.INPUT_REFUSED
    capsys.readouterr()
    assert call("certificate", job) == 0
    first = Path(told(capsys).strip())
    words = ("--serial", "SK-8", "--shop-limit", "0.8", "--reason", "plate misread", "--by", "mk")
    assert call("job", "amend", job, *words) == 0
    assert f"{first.name} was handed out before" in told(capsys)
    assert call("job", "show", job) == 0
    assert "amended by mk" in told(capsys)
    assert call("job", "find", "SK-8") == 0
    assert call("job", "find", "SK-9") == ExitCode.NEGATIVE
    capsys.readouterr()
    assert call("trail", job, "--only", "corrections", "--json") == 0
    (line,) = json.loads(told(capsys))
    assert (line["by"], line["words"]) == ("mk", "serial, tolerance put right: plate misread")
    assert call("trail", job) == 0
    assert "opened" in told(capsys)
    assert call("certificate", job) == 0
    page = Path(told(capsys).strip()).read_text(encoding="utf-8")
    assert f"Replaces {first.name} of 20" in page
    assert "serial: now &#39;SK-8&#39;, was &#39;SK-9&#39;" in page
    assert call("verify", "--full") == 0


def test_a_rebuild_tells_how_far_out_the_crank_would_be(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run_file = tmp_path / "r.txt"
    run_file.write_text(RUN.format(n=1, f="0.40", r="0.30"))
    assert call("spin", job, str(run_file)) == 0
    capsys.readouterr()
    assert call("job", "reopen", job, "--as-new", "--by", "mk") == 0
    assert "half the stroke: give --crank-radius" in told(capsys)
    assert call("job", "reopen", job, "--as-new", "--crank-radius", "-1", "--by", "mk") == ExitCode.INPUT_REFUSED
    capsys.readouterr()
    assert call("job", "reopen", job, "--as-new", "--crank-radius", "45", "--by", "mk") == 0
    new = told(capsys).split()[1].rstrip(":")
    trail = open_trail(Places(home), Settings())
    scribe = scribe_for(trail, Settings(by="mk"))
    scribe.choose(new)
    # only the two pistons of the first throw are new, 10 g heavier each: half of 20 g on the front pin at 0 degrees
    scribe.record([weight(Cell(kind="piston", place=place), "613.7") for place in (1, 2)])
    trail.close()
    assert call("job", "show", new, "--json") == 0
    rebuild = json.loads(told(capsys))["rebuild"]
    assert rebuild["of_number"] == job
    assert [round(b["now_g"] - b["then_g"], 1) for b in rebuild["bobweights"]] == pytest.approx(
        [10.0, 0, 0, 0], abs=0.06
    )
    # statics by hand: 10 g at 45 mm, 60 mm behind the front plane of two 450 mm apart, at 90 mm correction radius
    front, rear = rebuild["planes"]
    assert front["amount_g"] == pytest.approx(10 * 45 * (390 / 450) / 90, abs=0.06)
    assert rear["amount_g"] == pytest.approx(10 * 45 * (60 / 450) / 90, abs=0.06)
    assert min(front["angle_deg"], 360 - front["angle_deg"]) < 1.0
    assert front["left_g"] == pytest.approx(0.40)
    assert front["whole_g"] != pytest.approx(front["amount_g"])
    assert call("job", "show", new) == 0
    assert f"rebuild of job {job}" in told(capsys)
    assert call("job", "compare", job, new, "--json") == ExitCode.NEGATIVE
    lines = json.loads(told(capsys))["lines"]
    assert next(line for line in lines if line["name"] == "piston 1")["difference"] == "+10.0 g"
    assert call("job", "compare", job, job) == 0
    assert "tell the same" in told(capsys)
    assert call("job", "compare", job, "1999-0001") == ExitCode.INPUT_REFUSED


def test_the_timeline_answers_what_is_asked(home: Path, job: str, capsys: pytest.CaptureFixture[str]) -> None:
    call("job", "note", job, "coupling", "loose", "--by", "jr")
    capsys.readouterr()

    def seen(*words: str) -> list[str]:
        code = call("trail", job, "--json", *words)
        lines = json.loads(told(capsys))
        assert code == (0 if lines else ExitCode.NEGATIVE)
        return [line["words"] for line in lines]

    assert len(seen()) == 58
    assert len(seen("--only", "weights")) == 56
    assert len(seen("--only", "weights", "--words", "piston 3")) == 1
    assert seen("--words", "whole rod 3") == ["whole rod 3: 818.2 g (u 0.030 g)"]
    assert seen("--by", "jr") == ["note: coupling loose"]
    assert len(seen("--how", "typed")) == 2
    assert seen("--since", "2100-01-01") == []
    assert len(seen("--until", "2100")) == 58
    assert len(seen("--last", "3")) == 3
    assert call("trail", job, "--last", "1", "--json") == 0
    (last,) = json.loads(told(capsys))
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", last["when"])
    assert call("trail", job) == 0
    lines = told(capsys)
    assert "rod_whole" not in lines
    assert re.search(r"^ +\d+  \d{4}-\d\d-\d\d \d\d:\d\d:\d\d [+-]\d\d:\d\d  jr ", lines, re.MULTILINE)
    assert call("trail", job, "--last", "0") == ExitCode.INPUT_REFUSED
    assert call("trail", job, "--only", "nonsense") == ExitCode.USAGE


# -- attachments, folders, other benches ----------------------------------------------------------------------------


def test_files_are_kept_as_they_are_and_come_back_under_safe_names(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    odd = tmp_path / "..\\CON \x1b[2J.JPG"
    odd.write_bytes(b"<script>" * 50)
    assert call("job", "attach", job, str(odd), "--by", "mk") == 0
    assert "\x1b" not in told(capsys)
    for wrong in (tmp_path, tmp_path / "none"):
        assert call("job", "attach", job, str(wrong)) == ExitCode.INPUT_REFUSED
    large = tmp_path / "large"
    with large.open("wb") as file:
        file.truncate(25_000_001)
    assert call("job", "attach", job, str(large)) == ExitCode.INPUT_REFUSED
    assert "more than 25 MB" in capsys.readouterr().err
    assert call("job", "files", job) == 0
    assert "400 bytes" in told(capsys)
    out = tmp_path / "out"
    assert call("job", "files", job, "--folder", str(out)) == 0
    (path,) = out.iterdir()
    assert path.read_bytes() == odd.read_bytes()
    assert path.name.isascii()
    assert " " not in path.name


def test_a_whole_job_as_a_folder(home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    photo = tmp_path / "p.png"
    photo.write_bytes(b"png")
    call("job", "attach", job, str(photo))
    capsys.readouterr()
    for _ in range(2):
        assert call("export", job, "--as", "folder", "--folder", str(tmp_path / "out")) == 0
    paths = [Path(line) for line in told(capsys).splitlines()]
    assert len({path.parent for path in paths if path.parent.name != "attachments"}) == 2  # nothing is replaced
    names = {path.name for path in paths}
    assert {"sheet.html", "job.json", "job.xlsx", "job.labels.html", "job.form.html"} <= names
    assert any(path.parent.name == "attachments" and path.read_bytes() == b"png" for path in paths)


def test_a_job_goes_to_another_bench_with_the_same_hashes(
    home: Path, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    photo = tmp_path / "p.png"
    photo.write_bytes(b"png")
    call("job", "attach", job, str(photo))
    capsys.readouterr()
    assert call("export", job, "--as", "json", "--folder", str(tmp_path)) == 0
    file = told(capsys).strip()
    trail = open_trail(Places(home), Settings())
    hashes = [event.hash for event in trail.events(job=job)]
    trail.close()
    assert call("job", "import", file) == ExitCode.INPUT_REFUSED
    assert "a job of this bench" in capsys.readouterr().err
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "north"))
    monkeypatch.setenv("SPINLEDGER_BENCH", "north")
    weighed_job(tmp_path / "north", bench="north")
    assert call("job", "import", file, "--by", "jr") == 0
    trail = open_trail(Places(tmp_path / "north"), Settings())
    from bench.trail.guests import guest_events

    assert [event.hash for event in guest_events(trail, bench="south", number=job)] == hashes
    trail.close()
    capsys.readouterr()
    assert call("job", "list", "--brought-in", "--json") == 0
    assert [(row["bench"], row["number"]) for row in json.loads(told(capsys))] == [("south", job)]
    assert call("job", "show", job, "--bench", "south") == 0
    assert "Skerry Sound" in told(capsys)
    assert call("trail", job, "--bench", "south", "--last", "1") == 0
    assert "p.png kept" in told(capsys)
    assert call("job", "compare", job, job, "--bench", "south") == 0
    assert call("verify", "--full") == 0
    changed = json.loads(Path(file).read_text())
    changed["events"][3]["payload"]["grams"] = "1.0"
    Path(file).write_text(json.dumps(changed))
    assert call("job", "import", file) == ExitCode.INPUT_REFUSED
    assert "event 4" in capsys.readouterr().err


def comes(what: Callable[[], bool]) -> bool:
    """Whether it comes true soon."""
    until = time.monotonic() + 20
    while not what() and time.monotonic() < until:
        time.sleep(0.02)
    return what()


# -- a second program ----------------------------------------------------------------------------------------------


def test_a_second_program_looks_only_and_says_who_has_it(
    home: Path, job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    first = open_trail(Places(home), Settings())
    for words in (
        ("job", "note", job, "x"),
        ("job", "reopen", job, "--reason", "x"),
        ("certificate", job),
        ("job", "amend", job, "--serial", "1", "--reason", "x", "--by", "mk"),
    ):
        assert call(*words) == ExitCode.TRY_AGAIN
        said = capsys.readouterr().err
        assert f"in use by process {os.getpid()} on " in said
        assert " since 20" in said
    for words in (("job", "show", job), ("trail", job), ("verify",), ("job", "find", "skerry")):
        assert call(*words) == 0
    from bench.command_line.wiring import start_bench

    running = start_bench(Places(home), Settings())
    try:
        assert running.desk.view().read_only.startswith(f"in use by process {os.getpid()}")
        running.desk.ask(ChooseJob(job))
        scribe = scribe_for(first, Settings(by="jr"))
        scribe.choose(job)
        write_note(scribe, "written meanwhile")
        assert comes(lambda: any("written meanwhile" in line.words for line in running.desk.view().trail))
        open_job(scribe, shop_spec(), year=2031)
        assert comes(lambda: len(running.desk.view().jobs) == 2)
    finally:
        running.stop()
    first.close()
    assert call("job", "note", job, "x") == 0

"""Templates of a shop: kept from a job, listed, begun with, replaced only on demand, taken away; damaged files told."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bench.command_line import main as command_line
from bench.command_line.places import Places
from bench.command_line.record_wiring import load_job
from bench.command_line.settings import Settings
from bench.command_line.template_files import TemplateFiles
from bench.models.job import JobSpec
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.errors import RefusedError
from bench.use_cases.job_templates import JobTemplate, spec_like, template_of, template_words


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("SPINLEDGER_BY", "mk")
    source = tmp_path / "job.json"
    source.write_text(demo_spec().model_copy(update={"notes": "a customer's secret"}).model_dump_json())
    assert command_line.run(["job", "new", "--from", str(source)]) == 0
    return tmp_path / "home"


def jobs(home: Path) -> list[JobSpec]:
    from bench.command_line.record_wiring import read_trail

    trail = read_trail(Places(home), Settings())
    assert trail is not None
    numbers = sorted(line.number for line in trail.jobs())
    trail.close()
    return [load_job(Places(home), Settings(), number).spec for number in numbers]


def number_of(home: Path) -> str:
    from bench.command_line.record_wiring import read_trail

    trail = read_trail(Places(home), Settings())
    assert trail is not None
    (line,) = trail.jobs()
    trail.close()
    return line.number


def test_a_template_has_what_the_next_engine_shares_and_nothing_of_this_one(home: Path) -> None:
    assert command_line.run(["job", "template", number_of(home), "  harbour   V8 "]) == 0
    (kept,) = TemplateFiles(home / "templates").all()
    spec = demo_spec()
    assert kept.name == "harbour V8"
    assert (kept.spec.customer, kept.spec.serial, kept.spec.notes, kept.spec.simulated) == ("", "", "", False)
    for same in ("layout", "kinds", "reciprocating_share", "oil_g", "planes", "tolerance", "balance", "engine"):
        assert getattr(kept.spec, same) == getattr(spec, same), same


def test_a_job_begins_with_a_template(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    command_line.run(["job", "template", number_of(home), "harbour V8"])
    words = ["--title", "port engine", "--customer", "Station", "--serial", "SN-2"]
    assert command_line.run(["job", "new", "--template", "HARBOUR v8", *words]) == 0
    first, second = jobs(home)
    assert (second.title, second.customer, second.serial) == ("port engine", "Station", "SN-2")
    assert second.notes == "from template harbour V8"
    assert (second.layout, second.kinds, second.tolerance) == (first.layout, first.kinds, first.tolerance)
    assert command_line.run(["job", "new", "--template", "harbour V8"]) == 0
    assert jobs(home)[-1].title == "harbour V8"
    capsys.readouterr()
    assert command_line.run(["job", "template"]) == 0
    assert "harbour V8: V8 90 degrees, cross-plane, 7 kinds of part, 1 g a plane at 90 mm" in capsys.readouterr().out
    assert command_line.run(["job", "template", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["templates"][0]["name"] == "harbour V8"


def test_a_job_begins_like_another(home: Path) -> None:
    assert command_line.run(["job", "new", "--like", number_of(home), "--serial", "SN-3"]) == 0
    first, second = jobs(home)
    assert (second.title, second.customer, second.serial) == (first.title, first.customer, "SN-3")
    assert second.notes.startswith("like job ")
    assert "a customer's secret" in second.notes


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["new", "--template", "harbor V8"], "harbour V8"),
        (["new", "--template", "harbour V8", "--like", "2031-0001"], "one of --from, --template, --like"),
        (["new", "--like", "2031-9999"], "2031-9999"),
        (["new", "--template", "harbour V8", "--title", "x" * 41], "title"),
        (["template", "NUMBER"], "no name"),
        (["template", "NUMBER", "harbour V8"], "there already"),
        (["template", "NUMBER", "y" * 61], "61 letters"),
        (["template", "--forget", "nothing like it"], "not there"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(
    home: Path, words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    number = number_of(home)
    command_line.run(["job", "template", number, "harbour V8"])
    before = (home / "templates").stat().st_mtime_ns, TemplateFiles(home / "templates").all()
    with pytest.raises(RefusedError) as refused:
        command_line.run(["job", *(number if word == "NUMBER" else word for word in words)])
    assert told in str(refused.value)
    assert len(jobs(home)) == 1
    assert ((home / "templates").stat().st_mtime_ns, TemplateFiles(home / "templates").all()) == before
    capsys.readouterr()


def test_one_of_the_name_gives_way_only_when_asked_and_is_taken_away_by_name(home: Path) -> None:
    files = TemplateFiles(home / "templates")
    number = number_of(home)
    command_line.run(["job", "template", number, "harbour V8"])
    assert command_line.run(["job", "template", number, "Harbour V8", "--replace"]) == 0
    assert [one.name for one in files.all()] == ["Harbour V8"]
    assert command_line.run(["job", "template", "--forget", "harbour v8"]) == 0
    assert files.all() == ()


def test_names_that_differ_a_little_stay_apart(tmp_path: Path) -> None:
    files = TemplateFiles(tmp_path)
    names = ["V8 #1", "V8 1", "V8-1", "Hafen Ü", "Hafen U", "CON", "..", "a/b"]
    for name in names:
        files.keep(template_of(name, demo_spec()))
    assert {one.name for one in files.all()} == set(names)
    assert all(path.parent == tmp_path for path in tmp_path.rglob("*"))
    for name in names:
        assert files.named(name).name == name


def test_a_damaged_file_is_told_and_hides_no_other(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = home / "templates"
    TemplateFiles(folder).keep(template_of("good", demo_spec()))
    (folder / "bad.json").write_text('{"name": "bad"}')
    (folder / "huge.json").write_bytes(b" " * 600_000)
    (folder / "cut.json").write_bytes((next(folder.glob("good*.json"))).read_bytes()[:200])
    assert command_line.run(["job", "template"]) == 0
    shown = capsys.readouterr()
    assert shown.out.startswith("good: ")
    for name in ("bad.json: spec", "huge.json: larger", "cut.json: "):
        assert name in shown.err


def test_words_and_likeness() -> None:
    spec = demo_spec()
    graded = spec.model_copy(update={"tolerance": spec.tolerance.model_copy(update={"grade_mm_per_s": 6.3})})
    assert template_words(graded).endswith("1 g a plane at 90 mm, grade G 6.3")
    long = spec.model_copy(update={"notes": "n" * 4000})
    assert len(spec_like(long, origin="like job 1", title="t", customer="", serial="").notes) == 4000
    with pytest.raises(ValueError, match="blank"):
        JobTemplate(name="two  blanks", spec=spec)

"""Sheets from elsewhere: what would be taken is shown first, slips are seen, a mapping is kept."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from calling import call
from openpyxl import Workbook

from bench.command_line.exit_codes import ExitCode
from bench.use_cases.demo_job import demo_spec


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> str:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    path = tmp_path / "job.json"
    path.write_text(demo_spec().model_dump_json(), encoding="utf-8")
    assert call("job", "new", "--from", str(path), "--by", "mk") == 0
    return capsys.readouterr().out.split()[1].rstrip(":")


def plan(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    capsys.readouterr()
    assert call("import", *words, "--json") in {ExitCode.FINE, ExitCode.NEGATIVE}
    told = json.loads(capsys.readouterr().out)
    told["weights"] = {f"{row['part']} {row['place']}": row["grams"] for row in told["weights"]}
    return dict(told)


LAYOUTS = {
    "a row a cylinder": "cylinder;piston;piston pin\n1;586,4;152.3\n2;586,6;152,1\n",
    "a row a part": "part\t1\t2\npiston\t586,4\t586,6\npin\t152.3\t152,1\n",
    "a row a weight": "part,place,grams\npiston,1,586.4\npiston,2,586.6\npin,1,152.3\npin,2,152.1\n",
    "rows numbered by a head that is not known": "Zyl,Pistons (g),PIN\n2,586.6,152.1\n1,586.4,152.3\n",
    "no numbers, in order": "piston,pin\n586.4,152.3\n586.6,152.1\n",
}


@pytest.mark.parametrize("text", LAYOUTS.values(), ids=LAYOUTS)
def test_every_usual_layout_gives_the_same(
    job: str, tmp_path: Path, text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "weights.csv"
    path.write_bytes(text.encode("utf-8-sig"))
    told = plan(capsys, job, str(path))
    assert told["weights"] == {"piston 1": "586.4", "piston 2": "586.6", "pin 1": "152.3", "pin 2": "152.1"}
    assert told["complaints"] == []


def test_nothing_is_taken_without_a_yes_and_then_it_is_marked(
    job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "weights.csv"
    path.write_text("cylinder,Kolben g,pin\n1,586.4,152.3\n2,586.6,abc\n3,58.66,1e3\n9,586.1,\n2,586.9,\n")
    assert call("import", job, str(path)) == ExitCode.NEGATIVE
    said = capsys.readouterr()
    assert "column Kolben g: not taken" in said.out
    assert "'abc' is no weight" in said.err
    assert call("trail", job, "--json") == 0
    assert len(json.loads(capsys.readouterr().out)) == 1
    assert call("import", job, str(path), "--map", "Kolben g=pistn") == ExitCode.INPUT_REFUSED
    assert "'piston', the nearest" in capsys.readouterr().err
    assert call("import", job, str(path), "--map", "Kolben g=piston", "--yes", "--by", "mk") == ExitCode.NEGATIVE
    told = capsys.readouterr()
    assert "piston 3 with 58.66 g is far from the others" in told.err
    assert "piston 9 is not on this job's sheet" in told.err
    assert "piston 2 stands there twice" in told.err
    assert "taken: 5 weights" in told.out
    assert call("export", job, "--as", "json", "--folder", str(tmp_path)) == 0
    document = json.loads(Path(capsys.readouterr().out.strip()).read_text(encoding="utf-8"))
    assert "imported" in json.dumps(document)
    assert "from weights.csv, row 2, column Kolben g" in json.dumps(document)
    # the mapping is kept: the next file needs no word
    again = plan(capsys, job, str(path))
    assert again["columns"]["Kolben g"] == "piston"  # type: ignore[index]


def test_a_spreadsheet(job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (("cylinder", "piston", "rod whole"), (1, 586.4, 742.1), (2, 586.6, None), (3.0, "586.5 g", "=1+1")):
        sheet.append(row)
    path = tmp_path / "weights.xlsx"
    book.save(path)
    told = plan(capsys, job, str(path))
    # a formula that was never computed holds no value
    assert told["weights"] == {"piston 1": "586.4", "piston 2": "586.6", "piston 3": "586.5", "rod_whole 1": "742.1"}


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.csv", b""),
        ("a.csv", b"piston\n"),
        ("a.csv", b"what,ever\n1,2\n"),
        ("a.csv", bytes(range(256))),
        ("a.xlsx", b"PK\x03\x04 no zip"),
        ("a.xlsx", b"plain text"),
        ("a.csv", b"x" * 5_000_001),
    ],
)
def test_files_that_are_no_sheets(
    job: str, tmp_path: Path, name: str, data: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    assert call("import", job, str(path), "--yes") == ExitCode.INPUT_REFUSED
    told = capsys.readouterr().err
    assert name in told
    assert "wanted" in told


def test_an_export_of_ours_comes_back_in(job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "weights.csv"
    path.write_text("cylinder,piston\n1,586.4\n2,586.6\n")
    assert call("import", job, str(path), "--yes") == 0
    assert call("export", job, "--as", "csv", "--folder", str(tmp_path / "out")) == 0
    exported = next(p for p in (tmp_path / "out").glob("*.weights.csv") if "bobweights" not in p.name)
    assert plan(capsys, job, str(exported))["weights"] == {"piston 1": "586.4", "piston 2": "586.6"}


def test_labels_and_an_empty_form(job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for form, part in (("labels", "spinledger-part"), ("form", "bearing shells")):
        capsys.readouterr()
        assert call("export", job, "--as", form, "--folder", str(tmp_path / form)) == 0
        text = Path(capsys.readouterr().out.strip()).read_text(encoding="utf-8")
        assert text.startswith("<!")
        assert part in text or "scanned" in text

"""Whatever stands in a record: no command hands a control character of it on to the terminal, and the record keeps it."""

from __future__ import annotations

import importlib.util
import io
import json
import os
import sys
import unicodedata
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from bench.command_line import main as command_line
from bench.command_line.places import Places
from bench.command_line.record_wiring import open_trail, scribe_for
from bench.command_line.say import explain, printable
from bench.command_line.settings import Settings
from bench.trail.attachments import about_file, attach
from bench.trail.events import Draft, LinkChanged, NoteWritten
from bench.trail.identifiers import new_id
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.open_job import open_job

_FOUND = importlib.util.spec_from_file_location("hostile_terminal", Path(__file__).with_name("hostile_terminal.py"))
assert _FOUND is not None
assert _FOUND.loader is not None
_MODULE = importlib.util.module_from_spec(_FOUND)
_FOUND.loader.exec_module(_MODULE)
TEXTS: tuple[str, ...] = _MODULE.TEXTS
FORBIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


def acts(text: str) -> list[str]:
    """Characters in it that a terminal may obey; line ends are ours."""
    return [char for char in text if unicodedata.category(char) in FORBIDDEN and char != "\n"]


def storable(text: str) -> str:
    return text.encode("utf-8", "replace").decode()


def said(*words: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        try:
            code = command_line.run(list(words))
        except SystemExit as fault:
            code = int(fault.code or 0)
        except Exception as fault:  # noqa: BLE001 as main does
            code = explain(fault)
    return int(code), out.getvalue(), err.getvalue()


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A record in which every field a person or an instrument fills holds such texts."""
    place = tmp_path_factory.mktemp("hostile")
    before = os.environ.get("SPINLEDGER_HOME")
    os.environ["SPINLEDGER_HOME"] = str(place)
    trail = open_trail(Places(place), Settings(bench="a\x1b[2Jb"))
    scribe = scribe_for(trail, Settings(by="\x1b[5m"))
    for n in range(0, len(TEXTS), 40):
        text = storable(TEXTS[n])[:200]
        words = {"customer": text, "engine": text, "serial": text, "notes": text}
        open_job(scribe, demo_spec().model_copy(update={"title": text[:40] or "x"} | words), year=2031)
    raw = tuple(storable(text)[:2000] for text in TEXTS)
    scribe.choose("2031-0001")
    for n in range(0, len(TEXTS), 20):
        scribe.record([NoteWritten(text=storable(one)[:4000]) for one in TEXTS[n : n + 20]], raw=raw[n : n + 20])
    scribe.record([LinkChanged(instrument=storable(TEXTS[7])[:200], state="gone", detail=storable(TEXTS[9])[:200])])
    name = about_file("photo\x1b]0;x\x07\u202egpj.exe", b"x")
    attach(trail, b"x", Draft(id=new_id(), job="2031-0001", payload=name))
    trail.close()
    yield place
    if before is None:
        del os.environ["SPINLEDGER_HOME"]
    else:
        os.environ["SPINLEDGER_HOME"] = before


def test_the_corpus_is_large_enough() -> None:
    assert len(set(TEXTS)) >= 500
    assert all(acts(text) for text in TEXTS if "\ufeff" not in text)


def test_every_text_alone() -> None:
    for text in TEXTS:
        assert acts(printable(text)) == []


@pytest.mark.parametrize(
    "words",
    [
        ("job", "list"),
        ("job", "list", "--json"),
        ("job", "find", "demo", "rescue"),
        ("job", "show", "2031-0001"),
        ("job", "show", "2031-0001", "--json"),
        ("job", "compare", "2031-0001", "2031-0002"),
        ("job", "compare", "2031-0001", "2031-0002", "--all", "--json"),
        ("job", "files", "2031-0001"),
        ("job", "files", "2031-0001", "--json"),
        ("trail", "2031-0001", "--raw"),
        ("trail", "2031-0001", "--raw", "--json"),
        ("verify", "--full"),
        ("verify", "--json"),
        ("doctor", "--no-ports"),
        ("doctor", "--no-ports", "--json"),
        ("settings",),
        ("certificate", "2031-0001"),
        ("export", "2031-0001", "--as", "folder"),
        ("job", "note", "2031-0001\x1b[2J", "x"),
        ("job", "import", "/none\x1b]0;x\x07"),
        ("restore", "/none\x1b]0;x\x07"),
        ("verify", "--against", "/none\x1b]0;x\x07"),
        ("trail", "\x1b[2J"),
    ],
    ids=" ".join,
)
def test_a_command_shows_marks_and_sends_none(home: Path, words: tuple[str, ...]) -> None:
    code, out, err = said(*words)
    assert code in {0, 1, 4}
    assert out or err
    assert acts(out) == []
    assert acts(err) == []
    if "--json" in words:
        json.loads(out)


def test_the_record_keeps_every_byte(home: Path) -> None:
    trail = open_trail(Places(home), Settings())
    kept = {event.payload.text for event in trail.events(job="2031-0001") if isinstance(event.payload, NoteWritten)}
    trail.close()
    assert {storable(text)[:4000] for text in TEXTS} <= kept


def test_a_mistake_of_ours_is_told_clean(home: Path) -> None:
    code, _, err = said("verify")
    assert code == 0
    with redirect_stderr(io.StringIO()) as told:
        assert explain(ZeroDivisionError("\x1b[2J\x07")) == 70
    assert acts(told.getvalue()) == []
    assert err == ""
    assert sys.getdefaultencoding() == "utf-8"

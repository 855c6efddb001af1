"""What is written down about a mistake of the program names no customer and holds nothing a terminal obeys."""

from __future__ import annotations

from pathlib import Path

import pytest

from bench.command_line.fault_file import WITHHELD, fault_text, withheld
from bench.command_line.main import run
from bench.command_line.say import explain
from bench.use_cases.demo_job import demo_spec

CUSTOMERS = ("Øre & Sons [tugs]", 'J.R. "Rick" O\'Hara', "Al", "back\\slash", "two\nlines", "kröte")


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path / "home"))
    for number, customer in enumerate(CUSTOMERS):
        spec = demo_spec().model_copy(update={"simulated": False, "customer": customer, "title": f"Heron {number}"})
        (tmp_path / "job.json").write_text(spec.model_dump_json(), encoding="utf-8")
        assert run(["job", "new", "--from", str(tmp_path / "job.json"), "--by", "mk"]) == 0
    return tmp_path / "home"


def raised(words: object) -> Exception:
    cause = ValueError(f"for {words}")
    try:
        raise KeyError(words) from cause  # noqa: TRY301 a traceback is wanted
    except KeyError as fault:
        return fault


@pytest.mark.parametrize("customer", CUSTOMERS)
def test_no_customer_is_named_however_the_fault_quotes_it(home: Path, customer: str) -> None:
    for words in (customer, [customer], f"job of {customer.upper()}, Heron 3: no such key"):
        assert explain(raised(words)) == 70
        text = (home / "last-fault.txt").read_text(encoding="utf-8")
        assert WITHHELD in text
        assert "test_fault_file.py" in text, "where it happened is still told"
        for part in (customer, repr(customer)[1:-1]):
            assert f" {part.casefold()}" not in text.casefold().replace("'", " ").replace('"', " ")
        assert "Heron 3" not in text


def test_nothing_a_terminal_obeys_is_in_it(home: Path) -> None:
    explain(raised("\x1b]0;x\x07\x1b[2J \u202e"))
    text = (home / "last-fault.txt").read_text(encoding="utf-8")
    assert not [char for char in text if ord(char) < 32 and char != "\n"]
    assert "\u202e" not in text


def test_where_the_record_cannot_be_asked_the_faults_words_are_left_out(home: Path) -> None:
    record = home / "record.db"
    record.write_bytes(b"no record at all" * 100)
    text = fault_text(raised("Kröte und Söhne"), record)
    assert "Kröte" not in text
    assert "test_fault_file.py" in text
    assert "KeyError" in text
    assert "ValueError" in text


def test_words_that_only_begin_like_a_name_stay() -> None:
    assert withheld("Also Al alone; AL!", {"Al"}) == f"Also {WITHHELD} alone; {WITHHELD}!"
    assert withheld("the Heron's run", {"Heron", "Heron Bay"}) == f"the {WITHHELD}'s run"


def test_without_a_record_there_is_nothing_to_withhold(tmp_path: Path) -> None:
    assert "only words" in fault_text(raised("only words"), tmp_path / "none.db")

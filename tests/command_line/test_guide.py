"""Help: examples that parse, a guide whose commands and keys exist and that leaves none out, completion, the manual."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from bench.command_line import main as command_line
from bench.command_line.command_examples import EXAMPLES, GENERAL
from bench.command_line.completion_command import SHELLS, shell_code
from bench.command_line.exit_codes import ExitCode
from bench.command_line.manual_page import CODE_WORDS
from bench.command_line.parser_tree import commands_of
from bench.guide.pages import NAMES, page
from bench.screens.actions import ACTS, key_words
from bench.screens.guide_pages import all_pages

README = Path(__file__).parents[2] / "README.md"
SUBJECTS = {"calc"}
"""Commands whose second word is no file or job but a subject, with a parser of its own."""


def parsed(words: list[str]) -> None:
    """Parse as `run` does; a usage error leaves with SystemExit."""
    chosen = [word for word in words[:1] if word in command_line.COMMANDS]
    command_line.build_parser(*chosen).parse_args(words)


@pytest.mark.parametrize("command", [*[c for each in EXAMPLES.values() for c, _ in each], *[c for c, _ in GENERAL]])
def test_every_example_of_help_is_a_command_that_can_be_typed(command: str) -> None:
    program, *words = shlex.split(command.partition(">>")[0].partition(">")[0])
    assert program == "spinledger"
    parsed(words)


def test_help_begins_with_examples() -> None:
    assert set(EXAMPLES) <= set(command_line.COMMANDS)
    for name in EXAMPLES:
        parser = command_line.build_parser(name)
        text = next(a for a in parser._actions if a.dest == "command").choices[name].format_help()
        assert text.index("examples:") < text.index("options:"), name
    whole = command_line.build_parser().format_help()
    assert whole.index("examples:") < whole.index("positional arguments:")


def commands_in(text: str) -> set[str]:
    """Commands that a text names: `spinledger word` and `run.py word`."""
    quoted = re.findall(r"`([^`]+)`", text) + re.findall(r"^    (.+)$", text, re.MULTILINE)
    quoted += [line for block in re.findall(r"```(.*?)```", text, re.DOTALL) for line in block.splitlines()]
    found = [re.match(r"\s*(?:spinledger|python3 run\.py) ([a-z]+)\b", each) for each in quoted]
    return {match[1] for match in found if match} - {"test"}


def test_every_command_of_guide_and_readme_exists_and_every_command_is_in_the_guide() -> None:
    named = {name: commands_in(page(name).text) for name in NAMES}
    for name, commands in {**named, "README": commands_in(README.read_text(encoding="utf-8"))}.items():
        assert commands <= set(command_line.COMMANDS), name
    assert named["commands"] == set(command_line.COMMANDS)


def test_help_and_guide_name_every_verb_of_job() -> None:
    parser = command_line.build_parser("job")
    job = commands_of(parser)["job"]
    verbs = set(commands_of(job))
    assert set(command_line.COMMANDS["job"][1].split(", ")) == verbs
    (row,) = [line for line in page("commands").text.splitlines() if line.startswith("| `spinledger job`")]
    assert set(row.split("|")[2].strip().split(", ")) == verbs


def test_options_that_the_guide_names_exist() -> None:
    for each in all_pages():
        for line in re.findall(r"^    (spinledger .+)$", each.text, re.MULTILINE):
            program, *words = shlex.split(line.partition("#")[0])
            assert program == "spinledger"
            if words[0] not in SUBJECTS:
                parsed(words)


def test_every_key_of_the_guide_exists_and_the_reverse() -> None:
    keys = next(each for each in all_pages() if each.name == "keys")
    for act in ACTS:
        assert f"`{act.id}`" in keys.text
        assert act.words in keys.text
    there = {key_words(key) for act in ACTS for key in act.key.split(",")}
    there |= {"PageUp", "PageDown", "Enter", "Escape", "Tab"}
    for each in all_pages():
        for key in re.findall(r"\*\*([a-z]|F\d+|PageUp|PageDown)\*\*", each.text):
            assert key in there, (each.name, key)
        for id_ in re.findall(r"bench\.[a-z-]+", each.text):
            assert id_ in {act.id for act in ACTS}, (each.name, id_)


def test_exit_codes_are_told_alike_everywhere() -> None:
    told = dict(re.findall(r"^\| (\d+) \| (.+?) \|$", page("commands").text, re.MULTILINE))
    assert told == {str(int(code)): words for code, words in CODE_WORDS.items()}
    assert set(CODE_WORDS) == set(ExitCode)


def test_the_guide_is_read_page_by_page(capsys: pytest.CaptureFixture[str]) -> None:
    from calling import call

    assert call("guide") == 0
    listed = capsys.readouterr().out
    for each in all_pages():
        assert each.name in listed
        assert call("guide", each.name) == 0
        said = capsys.readouterr().out
        assert said.startswith(f"# {each.title}")
    assert call("guide", "--find", "checkpoint") == 0
    assert "read-the-certificate: " in capsys.readouterr().out
    assert call("guide", "--find", "zzzz") == ExitCode.NEGATIVE
    assert call("guide", "nopage") == ExitCode.INPUT_REFUSED
    assert "first-job" in capsys.readouterr().err


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_gets_code_of_its_own(shell: str) -> None:
    codes = {each: shell_code(each) for each in SHELLS}
    assert "spinledger" in codes[shell]
    assert {"powershell": "Register-ArgumentCompleter", "fish": "commandline", "bash": "complete ", "zsh": "compdef"}[
        shell
    ] in codes[shell]


def completed(line: str, home: Path) -> list[str]:
    """What a shell is told for a line, the way the library's shell code asks."""
    out = home / "out.txt"
    environment = {name: value for name, value in os.environ.items() if not name.startswith("SPINLEDGER_")}
    environment |= {
        "_ARGCOMPLETE": "1",
        "_ARGCOMPLETE_STDOUT_FILENAME": str(out),
        "_ARGCOMPLETE_IFS": "\n",
        "COMP_LINE": line,
        "COMP_POINT": str(len(line)),
        "COMP_TYPE": "9",
        "SPINLEDGER_HOME": str(home),
    }
    command = [sys.executable, "-m", "bench.command_line.main"]
    subprocess.run(command, env=environment, check=False, capture_output=True, timeout=60)
    return out.read_text(encoding="utf-8").split("\n")


def test_commands_options_and_job_numbers_are_completed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from calling import call

    from bench.use_cases.demo_job import demo_spec

    monkeypatch.setenv("SPINLEDGER_HOME", str(tmp_path))
    path = tmp_path / "job.json"
    path.write_text(demo_spec().model_dump_json(), encoding="utf-8")
    assert call("job", "new", "--from", str(path)) == 0
    assert {word.strip() for word in completed("spinledger gui", tmp_path)} == {"guide"}
    assert any(word.strip() == "--hands-off" for word in completed("spinledger demo --h", tmp_path))
    assert any(word.strip().endswith("-0001") for word in completed("spinledger weigh ", tmp_path))


def test_the_manual_is_readable_by_man(capsys: pytest.CaptureFixture[str]) -> None:
    from calling import call

    assert call("completion", "man") == 0
    text = capsys.readouterr().out
    assert text.startswith(".TH SPINLEDGER 1")
    for name in command_line.COMMANDS:
        assert f".SS spinledger {name}" in text
    assert ".B 143" in text
    # a line that begins with a point is a request to man; only those that are meant may
    requests = {line.split()[0] for line in text.splitlines() if line.startswith((".", "'"))}
    assert requests <= {".TH", ".SH", ".SS", ".TP", ".B"}

"""Every sentence the program says, collected from its source into one page, and read against the grammar of the house.

`MESSAGES_PAGE=messages.md pytest tests/architecture/test_messages.py` writes the page for reading.
"""

from __future__ import annotations

import ast
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("bench", "drivers", "sim")
SAYERS = frozenset({"say", "_say", "tell", "talk", "line", "Question", "Instruction", "Verdict", "Doubt", "Notice"})
ERROR = re.compile(r"\w+(Error|Fault|Doubt)$")


@dataclass(frozen=True)
class Message:
    """One sentence, with {} where something is filled in."""

    where: str
    what: str
    words: str


def text_of(node: ast.expr) -> str:
    """The words of a literal, of an f-string, of several joined; empty for anything else."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(text_of(part) if isinstance(part, ast.Constant) else "{}" for part in node.values)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        return text_of(node.left) + text_of(node.right)
    if isinstance(node, ast.IfExp):
        return f"{text_of(node.body)} | {text_of(node.orelse)}"
    return ""


def name_of(call: ast.Call) -> str:
    function = call.func
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def messages_of(path: Path) -> Iterator[Message]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = name_of(node)
        if name not in SAYERS and not ERROR.match(name):
            continue
        parts = [*node.args, *(key.value for key in node.keywords if key.arg in {"found", "wanted", "do", "words"})]
        words = " · ".join(text for text in map(text_of, parts) if " " in text or "{}" in text)
        if words:
            yield Message(f"{path.relative_to(ROOT)}:{node.lineno}", name, words)


@cache
def all_messages() -> list[Message]:
    files = [path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py"))]
    return [message for path in files for message in messages_of(path)]


BLAME = (
    # a person is told what to do, not that he was wrong
    r"\binvalid\b",
    r"\billegal\b",
    r"\bfailed to\b",
    r"\bbad (input|value|data)\b",
    r"\boops\b",
    r"\bsorry\b",
    r"\bplease\b",
    r"!(\s|$)",
    r"\byou (must|forgot|did not)\b",
    r"\bunknown error\b",
    r"\bsomething went wrong\b",
    # a person knows no class and no code
    r"\b\w+(Error|Exception)\b",
    r"\btraceback\b",
    r"\b(null|None|NoneType|stderr|stdout)\b",
)


@pytest.mark.parametrize("pattern", BLAME)
def test_no_sentence_blames_or_speaks_of_our_insides(pattern: str) -> None:
    found = [m for m in all_messages() if m.where.split("/")[0] != "sim" and re.search(pattern, m.words)]
    assert not found, "\n".join(f"{m.where}: {m.words}" for m in found)


def test_refusals_say_what_was_found_or_wanted() -> None:
    poor: list[str] = []
    for package in PACKAGES[:2]:
        for path in sorted((ROOT / package).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and name_of(node) in {"RefusedError", "SettingsError", "QuantityError"}:
                    keys = {key.arg for key in node.keywords}
                    if not keys & {"found", "wanted", None}:
                        poor.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert not poor


def test_all_sentences_are_collected_on_one_page() -> None:
    messages = all_messages()
    # the desk's, the weigh machine's and the commands' sentences are among them
    assert len(messages) > 250
    places = {message.where.rsplit("/", 1)[0] for message in messages}
    assert {"bench/use_cases", "bench/screens", "bench/command_line", "bench/trail", "drivers"} <= places
    page = os.environ.get("MESSAGES_PAGE")
    if page:
        lines = ["# Everything the program says", ""]
        for place in sorted(places):
            lines += [f"## {place}", ""]
            lines += [
                f"- {m.words}  ({m.where.rsplit('/', 1)[1]})" for m in messages if m.where.rsplit("/", 1)[0] == place
            ]
            lines.append("")
        Path(page).write_text("\n".join(lines), encoding="utf-8")

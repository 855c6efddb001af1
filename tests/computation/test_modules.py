"""What every module of the computations keeps to: pure, short, and told with its parameters, errors and an example."""

from __future__ import annotations

import ast
from itertools import pairwise
from pathlib import Path

import pytest

from bench import computation

FILES = sorted(Path(computation.__file__).parent.glob("*.py"))
MODULES = {path.stem: ast.parse(path.read_text(encoding="utf-8")) for path in FILES}
ARITHMETIC = {
    "__future__", "cmath", "collections", "dataclasses", "enum", "fractions", "functools", "itertools", "math", "numpy",
    "scipy", "statistics", "typing",
}  # fmt: skip
# what reads, writes, waits or throws dice without an import
IMPURE = {"breakpoint", "compile", "eval", "exec", "globals", "input", "open", "print", "__import__"}
IMPURE_PARTS = {"random", "default_rng", "fromfile", "genfromtxt", "load", "loadtxt", "save", "savetxt", "tofile"}


def imported(tree: ast.Module) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            found.add(node.module or "")
    return found


@pytest.mark.parametrize("name", MODULES)
def test_a_module_knows_arithmetic_only(name: str) -> None:
    for module in imported(MODULES[name]):
        assert module.partition(".")[0] in ARITHMETIC or module.startswith("bench.computation"), module
    for node in ast.walk(MODULES[name]):
        if isinstance(node, ast.Name):
            assert node.id not in IMPURE
        if isinstance(node, ast.Attribute):
            assert node.attr not in IMPURE_PARTS
        assert not isinstance(node, ast.Global)


def test_an_impure_module_would_be_seen() -> None:
    tree = ast.parse("import time\nfrom random import choice\nimport numpy.random\n")
    assert imported(tree) == {"time", "random", "numpy.random"}
    assert not {"time", "random"} & ARITHMETIC


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_module_is_short_and_says_what_it_is(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400
    assert ast.get_docstring(MODULES[path.stem])


# what the planner and the matching keep to themselves; the planner's own tests show it at work
INNER = (
    "answer_model", "counterweight_stations", "cut_", "errors", "match_", "sense_checks", "stations",
)  # fmt: skip
FORMULAS = [
    (name, node)
    for name, tree in MODULES.items()
    if not name.startswith(INNER)
    for node in tree.body
    if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
]
# checks of single numbers have no source but themselves
PLAIN = {"checks"}


@pytest.mark.parametrize(("name", "function"), FORMULAS, ids=[f"{name}-{node.name}" for name, node in FORMULAS])
def test_a_formula_is_told_whole(name: str, function: ast.FunctionDef) -> None:
    words = ast.get_docstring(function) or ""
    sections = [line for line, under in pairwise(words.splitlines()) if set(under) == {"-"}]
    arguments = [*function.args.args, *function.args.kwonlyargs]
    assert ("Parameters" in sections) == bool(arguments)
    assert "Returns" in sections
    assert "Examples" in sections
    assert ">>> " in words
    for argument in arguments:
        assert f"\n{argument.arg} : " in words
        # a unit in the name is a unit in the words
        units = {"_g_mm": "g mm", "_mm": "mm", "_deg": "deg", "_g": "g", "_kg": "kg", "_rpm": "1/min"}
        for ending, unit in units.items():
            if argument.arg.endswith(ending) and (ending != "_mm" or not argument.arg.endswith("_g_mm")):
                told = words.partition(f"\n{argument.arg} : ")[2].partition("\n\n")[0]
                assert f"[{unit}" in told, f"{argument.arg}: the unit is missing"
    if name not in PLAIN:
        assert "Notes" in sections
        notes = words.partition("Notes\n-----\n")[2].partition("\nExamples\n")[0]
        assert notes.strip()
    raises = any(isinstance(node, ast.Raise) for node in ast.walk(function))
    assert not raises or "Raises" in sections

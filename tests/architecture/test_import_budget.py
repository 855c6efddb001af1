"""What a command may load: a technician's PC in the corner starts each of them."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

LOOK = """
import sys, json, runpy
sys.argv = {words!r}
try:
    runpy.run_module('bench.command_line.main', run_name='__main__')
except SystemExit:
    pass
print('LOADED ' + json.dumps(sorted(sys.modules)), file=sys.stderr)
"""
HEAVY = {"textual", "numpy", "scipy", "pydantic", "sqlite_utils", "serial", "jinja2"}


def loaded(tmp_path: object, *words: str) -> set[str]:
    code = LOOK.format(words=["spinledger", *words])
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=False,
        env={"SPINLEDGER_HOME": str(tmp_path), "PATH": "/usr/bin:/bin"},
        timeout=60,
    )
    last = [line for line in done.stderr.splitlines() if line.startswith("LOADED ")][-1]
    return {name.partition(".")[0] for name in json.loads(last.removeprefix("LOADED "))}


@pytest.mark.parametrize("words", [("--version",), ("--help",), ("job", "--help")])
def test_help_and_version_load_nothing_heavy(tmp_path: object, words: tuple[str, ...]) -> None:
    assert not loaded(tmp_path, *words) & HEAVY


@pytest.mark.parametrize("words", [("job", "list"), ("settings",), ("instruments",), ("verify",)])
def test_commands_never_load_the_dashboard_or_the_planner(tmp_path: object, words: tuple[str, ...]) -> None:
    assert not loaded(tmp_path, *words) & {"textual", "numpy", "scipy"}


def test_nothing_reads_pickles_or_evaluates_data() -> None:
    import ast
    from pathlib import Path

    import bench

    top = Path(bench.__file__).parents[1]
    found = []
    for path in [*top.glob("bench/**/*.py"), *top.glob("drivers/**/*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import | ast.ImportFrom):
                names = [a.name for a in node.names] + [getattr(node, "module", "") or ""]
                found += [(path, n) for n in names if n.partition(".")[0] in {"pickle", "yaml", "marshal", "shelve"}]
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {"eval", "exec"}:
                found.append((path, node.func.id))
    assert not found


def test_no_file_grew_past_one_subject() -> None:
    from pathlib import Path

    import bench

    top = Path(bench.__file__).parents[1]
    long = [
        (str(path.relative_to(top)), lines)
        for package in ("bench", "drivers", "sim")
        for path in top.glob(f"{package}/**/*.py")
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 400
    ]
    # one is still to be split: the answer model and its update
    assert {name for name, _ in long} <= {"bench/computation/answer_model.py"}

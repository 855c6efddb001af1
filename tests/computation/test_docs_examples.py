"""Every example in a docstring of the computations runs and shows what it says; most modules have one."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

from bench import computation

MODULES = sorted(module.name for module in pkgutil.iter_modules(computation.__path__))
INNER = {"match_problem", "match_search"}


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name: str) -> None:
    module = importlib.import_module(f"{computation.__name__}.{name}")
    results = doctest.testmod(module, optionflags=doctest.ELLIPSIS)
    assert results.failed == 0
    if name not in INNER and not name.startswith(("cut_", "answer_model", "sense_")):
        assert results.attempted > 0

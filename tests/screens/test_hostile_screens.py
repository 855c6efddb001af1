"""Every screen with texts in every field that try to act on a terminal: marks are shown, nothing of it reaches one."""

from __future__ import annotations

import importlib.util
import itertools
import re
import sys
import unicodedata
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from a_shop import AShop
from listening_desk import ListeningDesk, frame, settle
from pydantic import BaseModel

from bench.screens.app import BenchApp
from bench.screens.shop import PortLine
from bench.use_cases.view import BenchView


def module_of(path: Path) -> ModuleType:
    found = importlib.util.spec_from_file_location(f"hostile_screens_{path.stem}", path)
    assert found is not None
    assert found.loader is not None
    module = importlib.util.module_from_spec(found)
    sys.modules[found.name] = module
    found.loader.exec_module(module)
    return module


TEXTS: tuple[str, ...] = module_of(Path(__file__).parents[1] / "faults" / "program" / "hostile_terminal.py").TEXTS
SCENES = module_of(Path(__file__).with_name("test_pictures.py")).SCENES
FORBIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
# words of people and instruments; names of parts, steps and answers are the program's own and steer it
WORDS = frozenset(
    {"title", "customer", "engine", "serial", "notes", "label", "hint", "words", "detail", "headline", "shown", "phase"}
    | {
        "remedy",
        "by",
        "read_only",
        "care",
        "why",
        "doubt",
        "certificate_path",
        "no_verdict",
        "local",
        "state",
        "reason",
    }
    | {"expected", "answer", "cautions", "warnings", "raw", "set_open", "aside", "unit", "file_name", "about"}
)
QUICK = (
    "first-run",
    "weigh",
    "weigh-question",
    "weigh-scale-lost",
    "bobweights",
    "trail",
    "sign-off",
    "match",
    "copy-job",
)


def acts(text: str) -> list[str]:
    return [char for char in text if unicodedata.category(char) in FORBIDDEN]


def poisoned(value: Any, texts: Iterator[str], name: str = "") -> Any:
    """Return the same with another of the texts in every field of words."""
    if isinstance(value, Enum):
        return value
    if isinstance(value, str):
        return next(texts)[:2000] if name in WORDS else value
    if isinstance(value, tuple):
        return tuple(poisoned(one, texts, name) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(
            value, **{one.name: poisoned(getattr(value, one.name), texts, one.name) for one in fields(value)}
        )
    if isinstance(value, BaseModel):
        return value.model_copy(
            update={one: poisoned(getattr(value, one), texts, one) for one in type(value).model_fields}
        )
    return value


async def shown_with(name: str, shows: int, size: tuple[int, int]) -> int:
    scene = SCENES[name]
    texts = itertools.cycle(TEXTS)
    for _ in range(sum(map(ord, name)) % len(TEXTS)):  # each screen begins elsewhere among them
        next(texts)
    shop = AShop()
    shop.names = ("mk", "jo\x1b[2J")
    shop.there = [PortLine("/dev/ttyUSB0\x9b2J", next(texts)[:300])]
    desk = ListeningDesk(poisoned(scene.view(), texts))
    app = BenchApp(desk, tone_player=lambda _: None, shop=shop)
    marks = 0
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        for key in scene.keys:
            await pilot.press(key)
            await settle(pilot)
        for _ in range(shows):
            for row in frame(app):
                assert acts(row) == [], (name, row)
                marks += bool(re.search(r"<[0-9A-F]{2,5}>", row))
            view: BenchView = poisoned(scene.view(), texts)
            desk.show(view)
            await pilot.pause(0.05)
    return marks


@pytest.mark.parametrize("name", QUICK)
async def test_the_main_screens_show_marks(name: str) -> None:
    assert await shown_with(name, 2, (80, 24)) or name == "first-run"  # which shows none of these fields


@pytest.mark.long
@pytest.mark.parametrize("size", [(80, 24), (120, 40), (40, 10)])
@pytest.mark.parametrize("name", SCENES)
async def test_every_screen_with_every_text(name: str, size: tuple[int, int]) -> None:
    await shown_with(name, 40, size)


def test_a_view_that_is_poisoned_holds_the_texts() -> None:
    view = poisoned(SCENES["weigh"].view(), itertools.cycle(TEXTS))
    assert view.job is not None
    assert acts(view.job.spec.title)
    assert acts(view.job.spec.kinds[0].label)
    assert acts(view.instruction.headline)

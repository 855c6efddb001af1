"""The teacher of exports: invented layouts are learnt or refused, and never learnt wrong."""

from __future__ import annotations

import random
import zlib
from decimal import Decimal

import pytest

from drivers.balancers.balancer_profile import AngleMeaning
from drivers.contract import ExportFault, SpinReading
from drivers.profile_writing import profile_toml
from drivers.registry import make_export_reader
from drivers.teach_export import (
    ExportNeedsMore,
    ExportUnreadable,
    ShownPlane,
    TaughtExport,
    teach_export,
)
from tests.drivers.formats.export_formats import LAYOUTS, Run, random_run

ANGLE = AngleMeaning(zero_deg=0, sense="counter-clockwise", seen_from="front", shows="excess")


def typed(run: Run) -> list[ShownPlane]:
    return [ShownPlane(plane, f"{amount:.2f}", f"{angle:.1f}") for plane, amount, angle in run.planes]


def taught(name: str, rng: random.Random, runs: int) -> TaughtExport | ExportNeedsMore | ExportUnreadable:
    text = [random_run(rng, number) for number in range(3, 3 + runs)]
    return teach_export(LAYOUTS[name](text), typed(text[-1]), angle=ANGLE, unit="g")


def judged(name: str, learnt: TaughtExport, rng: random.Random, tmp_path: object) -> tuple[int, int]:
    """Return how many of thirty fresh texts are read right, and how many wrong."""
    from pathlib import Path

    assert isinstance(tmp_path, Path)
    (tmp_path / "taught.toml").write_text(profile_toml(learnt.profile), encoding="utf-8")
    reader = make_export_reader("taught", folder=tmp_path)
    right = wrong = 0
    for _ in range(30):
        runs = [random_run(rng, number) for number in range(7, 7 + rng.choice((1, 2, 3)))]
        items = reader.read(LAYOUTS[name](runs))
        if any(isinstance(item, ExportFault) for item in items):
            continue
        read = [
            [(plane.plane, plane.amount, plane.angle) for plane in item.planes]
            for item in items
            if isinstance(item, SpinReading)
        ]
        good = read == [run.planes for run in runs]
        right += good
        wrong += not good
    return right, wrong


@pytest.mark.parametrize("runs", [1, 2])
@pytest.mark.parametrize("name", LAYOUTS)
def test_a_layout_is_learnt(name: str, runs: int, tmp_path: object) -> None:
    rng = random.Random(zlib.crc32(name.encode()) + runs)
    learnt = taught(name, rng, runs)
    assert isinstance(learnt, TaughtExport), learnt
    assert judged(name, learnt, rng, tmp_path) == (30, 0), profile_toml(learnt.profile)


def test_there_are_at_least_forty_layouts() -> None:
    assert len(LAYOUTS) >= 40


@pytest.mark.parametrize("name", ["keyed", "table", "fixed"])
@pytest.mark.parametrize("slip", ["digit", "decimals", "planes"])
def test_typing_slips_are_caught_or_harmless(name: str, slip: str, tmp_path: object) -> None:
    rng = random.Random(9)
    text = [random_run(rng, number) for number in (3, 4)]
    shown = typed(text[-1])
    if slip == "digit":
        shown[0] = ShownPlane("front", f"{text[-1].front[0] + Decimal(10):.2f}", shown[0].angle)
    elif slip == "decimals":
        shown[0] = ShownPlane("front", shown[0].amount.split(".")[0], shown[0].angle)
    else:
        shown[1] = ShownPlane("front", shown[1].amount, shown[1].angle)
    learnt = teach_export(LAYOUTS[name](text), shown, angle=ANGLE, unit="g")
    assert isinstance(learnt, ExportUnreadable), learnt
    assert learnt.do


def test_equal_figures_ask_for_another_spin() -> None:
    shown = [ShownPlane("front", "1.0", "30.0"), ShownPlane("rear", "1.0", "40.0")]
    assert isinstance(teach_export(b"x", shown, angle=ANGLE, unit="g"), ExportNeedsMore)


@pytest.mark.parametrize("data", [b"", b"\x00\x01\x02" * 40, b"<r><a>1.00</a></r>\n"])
def test_what_cannot_be_read_is_refused_in_words(data: bytes) -> None:
    shown = [ShownPlane("front", "1.00", "2.0"), ShownPlane("rear", "3.00", "4.0")]
    learnt = teach_export(data, shown, angle=ANGLE, unit="g")
    assert isinstance(learnt, ExportUnreadable)
    assert learnt.found

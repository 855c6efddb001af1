"""The numbers safety hangs on are said back, large and with their units, before a job is opened with them."""

from __future__ import annotations

from typing import Any

import pytest
from a_shop import AShop
from listening_desk import ListeningDesk, frame, settle

from bench.models.job import JobSpec
from bench.screens.app import BenchApp
from bench.screens.glyphs import GLYPH_SETS
from bench.screens.numbers_card import NumbersCard, card_for, numbers_of
from bench.use_cases import commands as c
from bench.use_cases.demo_job import demo_spec
from bench.use_cases.view import BenchView

GLYPHS = GLYPH_SETS["quadrant"]


def spec(**changes: Any) -> JobSpec:
    return JobSpec.model_validate(demo_spec().model_dump() | changes)


def test_tolerance_and_radii_are_told_with_their_units() -> None:
    one, other = demo_spec().planes
    alike = spec(
        planes=[one.model_copy(update={"radius_mm": 90.0}), other.model_copy(update={"radius_mm": 90.0})],
        tolerance={"shop_limit_g": 0.5},
    )
    assert numbers_of(alike) == (
        ("limit of each plane, at the correction radius", "0.5 g"),
        ("correction radius", "90 mm"),
    )
    both = spec(
        planes=[one.model_copy(update={"radius_mm": 90.0}), other.model_copy(update={"radius_mm": 87.5})],
        tolerance={"shop_limit_g": None, "grade_mm_per_s": 6.3},
        rotor_mass_kg=25.5,
        speed_rpm=3000.0,
    )
    assert [value for _, value in numbers_of(both)] == ["G 6.3", "25.5 kg 3000 rpm", "90 mm", "87.5 mm"]


def test_only_a_new_job_is_asked_about() -> None:
    assert card_for(c.WriteNote("n"), GLYPHS) is None
    assert isinstance(card_for(c.CreateJob(demo_spec()), GLYPHS), NumbersCard)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (40, 10)])
async def test_enter_is_yes_and_escape_and_the_pedal_are_no(size: tuple[int, int]) -> None:
    app = BenchApp(ListeningDesk(BenchView(by="mk")), tone_player=lambda _: None, shop=AShop())
    answers: list[bool | None] = []
    async with app.run_test(size=size) as pilot:
        for key in ("enter", "escape", "pagedown"):
            await settle(pilot)
            app.push_screen(card_for(c.CreateJob(demo_spec()), GLYPHS) or NumbersCard((), GLYPHS), answers.append)
            await settle(pilot)
            assert any("Are they right?" in row or "These numbers" in row for row in frame(app))
            await pilot.press(key)
            await settle(pilot)
    assert [bool(answer) for answer in answers] == [True, False, False]

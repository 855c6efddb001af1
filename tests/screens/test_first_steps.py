from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from a_shop import AShop
from listening_desk import ListeningDesk, frame, settle, some_state, weighing
from textual.pilot import Pilot
from textual.widgets import Input, OptionList

from bench.guide.pages import NAMES
from bench.screens.actions import BY_ID
from bench.screens.app import BenchApp
from bench.screens.connect_screen import ConnectScreen
from bench.screens.form_dialog import FormDialog
from bench.screens.guide_pages import all_pages
from bench.screens.guide_screen import GuideScreen
from bench.screens.intake_screen import LayoutScreen, advice_words
from bench.screens.numbers_card import NumbersCard
from bench.screens.paint_lists import FIRST_STEPS
from bench.screens.shop import HeardNow, IntakeStart, PortLine, Wish
from bench.screens.tour_screen import TOUR, WORDS_A_MINUTE, TourScreen
from bench.use_cases import commands as c
from bench.use_cases.usual_layouts import layouts_to_pick
from bench.use_cases.view import BenchView, Step


def an_app(view: BenchView | None = None, **words: Any) -> tuple[BenchApp, ListeningDesk, AShop]:
    desk, shop = ListeningDesk(view or BenchView(by="mk")), words.pop("shop", None) or AShop()
    return BenchApp(desk, tone_player=lambda _: None, shop=shop, **words), desk, shop


def text_of(app: BenchApp) -> str:
    return "\n".join(frame(app))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (40, 10)])
async def test_an_empty_record_says_what_can_be_done(size: tuple[int, int]) -> None:
    app, _, _ = an_app()
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        text = text_of(app)
        assert "would you like to do?" in text
        steps = app.screen.query_one("#first-run", OptionList)
        assert app.focused is steps
        shown = [str(steps.get_option_at_index(i).prompt) for i in range(steps.option_count)]
        assert len(shown) == len(FIRST_STEPS)
        for (id_, words), line in zip(FIRST_STEPS, shown, strict=True):
            assert line.split()[0] == BY_ID[id_].key
            assert words in line
        assert "simulated" in text


async def test_a_record_that_is_looked_at_offers_no_new_job() -> None:
    app, _, _ = an_app(BenchView(read_only="open elsewhere"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "Open my first job" not in text_of(app)


@pytest.mark.parametrize(
    ("key", "wish"), [("b", Wish.SIMULATE), ("u", Wish.TOUR), ("q", Wish.LEAVE), ("enter", Wish.SIMULATE)]
)
async def test_one_key_leads_to_the_simulated_bench(key: str, wish: Wish) -> None:
    app, _, _ = an_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press(key)
        await settle(pilot)
    assert app.wish is wish


async def test_a_click_on_a_first_step_does_it() -> None:
    app, _, _ = an_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        rows = frame(app)
        row = next(i for i, text in enumerate(rows) if "Read how it goes" in text)
        await pilot.click(offset=(10, row))
        await settle(pilot)
        assert isinstance(app.screen, GuideScreen)


async def test_the_simulated_bench_does_not_lead_to_itself() -> None:
    app, _, _ = an_app(BenchView(simulated=True))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("b")
        await settle(pilot)
        assert "this is the simulated bench" in text_of(app)
        assert app.wish is Wish.LEAVE


def test_the_tour_is_read_in_two_minutes_and_names_keys_that_are_there() -> None:
    words = sum(len(f"{card.title} {card.words}".split()) for card in TOUR)
    assert words / WORDS_A_MINUTE <= 2.0
    said = " ".join(card.words for card in TOUR).replace("Key ", "key ")
    for key, act in (
        ("key m", "bench.match"),
        ("key t", "bench.trail"),
        ("h is", "bench.guide"),
        ("l conn", "bench.connect"),
    ):
        assert key in said
        assert BY_ID[act].key == key.removeprefix("key ").split()[0]


async def test_the_tour_lies_over_a_bench_that_goes_on() -> None:
    app, desk, _ = an_app(weighing(), tour=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(app.screen, TourScreen)
        assert TOUR[0].title in text_of(app)
        assert "SIMULATED" in frame(app)[0]
        desk.show(replace(weighing(), by="zz"))
        await settle(pilot)
        assert "zz" in app.screen_stack[0].query_one("#where").render().plain  # type: ignore[union-attr]
        for card in TOUR[1:]:
            await pilot.press("enter")
            await settle(pilot)
            assert card.title in text_of(app)
            # the card leaves the top line and the instruction to be seen
            assert "weigh" in frame(app)[0]
        await pilot.press("left", "enter", "enter")
        await settle(pilot)
        assert not isinstance(app.screen, TourScreen)


async def test_every_page_of_the_guide_can_be_read_inside() -> None:
    app, _, _ = an_app()
    async with app.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        await pilot.press("h")
        await settle(pilot)
        listed = text_of(app)
        for page in all_pages():
            assert page.title in listed
        await pilot.press("enter")
        for number, page in enumerate(all_pages(), 1):
            await settle(pilot)
            assert f"page {number} of {len(NAMES) + 1}" in text_of(app)
            assert page.title in text_of(app)
            await pilot.press("right")
        await pilot.press("escape")
        await settle(pilot)
        assert len(app.screen_stack) == 1


# -- intake -----------------------------------------------------------------------------------------------
async def fill(pilot: Pilot[Any], app: BenchApp, **answers: str) -> None:
    await settle(pilot)
    for name, text in answers.items():
        app.screen.query_one(f"#field-{name}", Input).value = text
    app.screen.query_one("#do").focus()
    await pilot.press("enter")
    await settle(pilot)


def complaint(app: BenchApp) -> str:
    return str(app.screen.query_one("#complaint").render())


@pytest.mark.parametrize("glyphs", ["quadrant", "ascii"])
async def test_each_layout_has_a_picture_and_advice(glyphs: str) -> None:
    app, _, _ = an_app(glyphs=glyphs)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        screen = LayoutScreen(app.glyphs)
        await app.push_screen(screen)
        await settle(pilot)
        assert "cylinder 7 and 8" in "\n".join(line.plain for line in screen.drawn("v8-90-cross-plane", 40, 24))
        for name, layout in layouts_to_pick().items():
            text = "\n".join(line.plain for line in screen.drawn(name, 38, 20))
            for throw in layout.throws:
                assert str(throw.number) in text, name
            assert advice_words(name)[0].split()[0] in text


async def test_the_first_job_is_asked_for_with_reasons() -> None:
    app, desk, _ = an_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("n")
        await settle(pilot)
        assert "V8 90°, pins in two planes" in text_of(app)
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("f1")
        await settle(pilot)
        assert "find it by" in complaint(app)
        await fill(pilot, app, title="pump", radius="3.5433 in", limit="90 gmm", oil="0.2oz")
        assert desk.asked == []
        assert "limit of each plane" in text_of(app)
        await pilot.press("escape")
        await settle(pilot)
        assert isinstance(app.screen, FormDialog), "what was typed is still there"
        assert app.screen.query_one("#field-radius", Input).value == "3.5433 in"
        await fill(pilot, app)
        await pilot.press("enter")
        await settle(pilot)
        (command,) = desk.asked
    assert isinstance(command, c.CreateJob)
    spec = command.spec
    assert spec.planes[0].radius_mm == pytest.approx(90.0, abs=0.001)
    assert spec.tolerance.shop_limit_g == pytest.approx(1.0, abs=1e-4)
    assert spec.oil_g == pytest.approx(5.67, abs=0.001)
    assert spec.reciprocating_share == 0.5
    assert [throw.pin_deg for throw in spec.layout.throws] == [0.0, 90.0, 270.0, 180.0]
    assert len(spec.kinds) == 7


async def test_a_slip_is_asked_about_once_and_a_changed_slip_again() -> None:
    app, desk, _ = an_app()
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await pilot.press("n", "enter")
        await fill(pilot, app, title="pump", radius="9", share="36")
        assert "correction radius: usual is" in complaint(app)
        assert "forward first order" in complaint(app)
        await fill(pilot, app, radius="90")
        assert "forward first order" in complaint(app)
        assert desk.asked == []
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, NumbersCard)
        await pilot.press("enter")
        await settle(pilot)
    (command,) = desk.asked
    assert command.spec.reciprocating_share == 0.36  # type: ignore[union-attr]


@pytest.mark.long
@pytest.mark.parametrize(
    ("answers", "told"),
    [
        ({"title": ""}, "title"),
        ({"radius": ""}, "wanted a number"),
        ({"radius": "90 furlongs"}, "'furlongs' is no unit"),
        ({"radius": "1,234"}, "can be read as"),
        ({"radius": "-5"}, "above 0"),
        ({"share": "500"}, "0 to 100"),
        ({"limit": "none"}, "no unit"),
        ({"limit": "0"}, "greater than 0"),
        ({"grade": "6.3"}, "needs the rotor's mass"),
        ({"oil": "1e5555"}, "finite"),
        ({"oil": "1_0"}, "no number"),
        ({"speed": "fast"}, "no unit"),
    ],
)
async def test_what_cannot_be_used_is_told_beside_its_field(answers: dict[str, str], told: str) -> None:
    app, desk, _ = an_app()
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await pilot.press("n", "enter")
        await fill(pilot, app, **({"title": "pump"} | answers))
        assert told in complaint(app)
        # nothing that was typed is lost
        for name, text in answers.items():
            assert app.screen.query_one(f"#field-{name}", Input).value == text
    assert desk.asked == []


async def test_an_imperial_shop_types_ounces_inches_and_pounds() -> None:
    app, desk, _ = an_app(shop=AShop(IntakeStart(oil_g=5.669904625, imperial=True)))
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await pilot.press("n", "enter")
        await settle(pilot)
        assert app.screen.query_one("#field-oil", Input).value == "0.2"
        await fill(pilot, app, title="pump", radius="3.5", limit="0.05", grade="6,3", mass="70", speed="4600")
        if desk.asked == []:
            await pilot.press("enter")
            await settle(pilot)
    (command,) = desk.asked
    spec = command.spec  # type: ignore[union-attr]
    assert spec.planes[0].radius_mm == pytest.approx(88.9)
    # 0.05 oz, 70 lb: exact by the definitions of the ounce and the pound
    assert spec.tolerance.shop_limit_g == pytest.approx(1.41747615625)
    assert spec.rotor_mass_kg == pytest.approx(31.7514659)
    assert spec.tolerance.grade_mm_per_s == 6.3


async def test_a_job_like_one_before_is_opened_from_the_list_and_from_inside() -> None:
    listed = replace(weighing(), job=None, review=None, shown_step=Step.INTAKE)
    app, desk, _ = an_app(listed)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("y")
        await settle(pilot)
        assert desk.asked == [c.ChooseJob("2031-0001")]
        desk.show(weighing())
        await settle(pilot)
        assert "A new job like 2031-0001" in text_of(app)
        await fill(pilot, app, title="starboard engine", serial="77")
        assert isinstance(app.screen, NumbersCard)
        await pilot.press("enter")
        await settle(pilot)
    command = desk.asked[1]
    assert isinstance(command, c.CreateJob)
    before = some_state().spec
    assert command.spec.serial == "77"
    assert command.spec.title == "starboard engine"
    assert command.spec.kinds == before.kinds
    assert command.spec.tolerance == before.tolerance
    assert "like job 2031-0001" in command.spec.notes


# -- a scale ----------------------------------------------------------------------------------------------
async def test_a_scale_is_chosen_seen_compared_and_kept() -> None:
    app, _, shop = an_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("l")
        await settle(pilot)
        assert "No port is seen" in text_of(app)
        shop.there = [PortLine("/dev/ttyUSB7", "USB serial"), PortLine("COM9", "hostile \x1b[2J")]
        await pilot.pause(1.3)
        assert "/dev/ttyUSB7" in text_of(app)
        assert "\x1b" not in text_of(app)
        await pilot.press("shift+tab", "enter")
        await settle(pilot)
        shop.heard = HeardNow("listening with 4800 bit/s", ('"\\x00\\xff"',), "4800 bit/s")
        await pilot.pause(0.4)
        assert "4800 bit/s" in text_of(app)
        await pilot.press("enter")
        await settle(pilot)
        assert "no number yet" in text_of(app)
        shop.heard = HeardNow(
            "Is this the number?", ('"S  512.3 g"',), "9600 bit/s", "512.3 g", "plain-stream", ready=True
        )
        await pilot.press("escape", "enter")
        await pilot.pause(0.4)
        assert "reads: 512.3 g" in text_of(app)
        shop.trouble = "settings.toml: read-only"
        await pilot.press("enter")
        await settle(pilot)
        assert "read-only" in text_of(app)
        shop.trouble = ""
        await pilot.press("enter")
        await settle(pilot)
    assert app.wish is Wish.AGAIN
    assert shop.kept == {("scale", "url"): "/dev/ttyUSB7"}
    assert shop.stopped == ["/dev/ttyUSB7", "/dev/ttyUSB7"]


async def test_a_port_can_be_typed_and_left() -> None:
    app, _, shop = an_app()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("l")
        await settle(pilot)
        await pilot.press(*"COM3", "enter")
        await settle(pilot)
        await pilot.press("escape", "escape")
        await settle(pilot)
        assert not isinstance(app.screen, ConnectScreen)
    assert shop.stopped == ["COM3"]
    assert app.wish is Wish.LEAVE


# -- hands ------------------------------------------------------------------------------------------------
async def test_a_sheet_is_shown_before_it_is_taken() -> None:
    app, desk, _ = an_app(weighing())
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        for last in ("escape", "enter"):
            await pilot.press("v")
            await settle(pilot)
            await pilot.press(*"w.csv", "enter")
            await settle(pilot)
            assert "replaces 586.4 g" in text_of(app)
            assert "'abc' is no weight" in text_of(app)
            assert desk.asked == []
            await pilot.press(last)
            await settle(pilot)
    (command,) = desk.asked
    assert isinstance(command, c.BringIn)
    assert [str(line.cell) for line in command.plan.lines] == ["piston 1"]

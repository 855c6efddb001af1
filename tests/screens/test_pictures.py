"""Text pictures of every screen, kept as files: what a person sees at each size, in each set of signs.

`DRAW_PICTURES=1 pytest tests/screens/test_pictures.py -m "long or not long"` draws them anew; look at what changed before
keeping it.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from a_shop import AShop
from listening_desk import ListeningDesk, entry, frame, settle, some_state, view_of, weighing

from bench.capture.decisions import Phase
from bench.models.job import Cell, CorrectionPlane, MountedPart, Stage, Tolerance
from bench.models.job_state import JobState, SignedOff
from bench.screens.app import BenchApp
from bench.screens.shop import PortLine
from bench.use_cases.cautions import BEFORE_DRILLING, BEFORE_SPIN, cautions_for
from bench.use_cases.instruct import instruction_for, what_is_wanted
from bench.use_cases.view import (
    BenchView,
    CutLine,
    Doing,
    InstrumentLine,
    LiveLine,
    Notice,
    Proposal,
    Question,
    Step,
    Tone,
    Want,
)

FOLDER = Path(__file__).parents[1] / "golden" / "screens"
SIZES = {"40x10": (40, 10), "80x24": (80, 24), "120x40": (120, 40)}


def same_as_kept(text: str, name: str) -> None:
    """Compare with the picture that was looked at and kept; draw it anew where that is asked for."""
    path = FOLDER / f"{name}.txt"
    if os.environ.get("DRAW_PICTURES"):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    assert path.exists(), f"{path} is not there: draw it with DRAW_PICTURES=1, look at it, keep it"
    kept = path.read_text(encoding="utf-8")
    assert text.splitlines() == kept.splitlines(), f"{path} looks otherwise now"


@dataclass(frozen=True)
class Scene:
    """A moment of the bench and the keys that lead to a card."""

    view: Callable[[], BenchView]
    keys: tuple[str, ...] = ()


def listed() -> BenchView:
    view = weighing()
    return BenchView(simulated=True, jobs=view.jobs, by="mk")


def bobweights() -> BenchView:
    want = Want(Doing.MAKE, throw=1, target_g=2157.4)
    return view_of(some_state(), Step.BOBWEIGHTS, want, live=LiveLine("2145.0", "g", "settling", 12.4))


def asking() -> BenchView:
    question = Question("586.4 g again: the same part?", (("take", "take it as it is"), ("again", "weigh it again")))
    return weighing(question=question, live=LiveLine("586.4", "g", "asking"))


def unplugged() -> BenchView:
    lost = InstrumentLine("scale", "lost", "the port is gone", "look at the plug")
    return weighing(instruments=(lost,), live=LiveLine())


def whole_sheet() -> BenchView:
    return view_of(some_state(), Step.WEIGH, Want(Doing.LAY, cell=Cell(kind="piston", place=7)))


def after_runs(runs: int, *, last: tuple[float, float] | None = None) -> JobState:
    """A job whose bobweights are made, after some runs; the last one may show other amounts."""
    state = some_state(runs=runs)
    if last is None:
        return state
    planes = tuple(replace(plane, amount_g=grams) for plane, grams in zip(state.spins[-1].planes, last, strict=True))
    return replace(state, spins=(*state.spins[:-1], replace(state.spins[-1], planes=planes)))


FIRST_CUTS = Proposal(
    (CutLine("front", 195.7, 22.3), CutLine("front", 209.7, 22.3), CutLine("rear", 16.0, 13.2)),
    "Short on purpose until its answer is known; chance to be inside after it 0 %, to have taken too much 2.4 %.",
    (
        "next run should show 25.2 g in front, give or take 16.6 g",
        "next run should show 25.9 g in rear, give or take 13.8 g",
    ),
)
LATER_CUTS = Proposal(
    (CutLine("front", 201.0, 2.4, diameter_mm=12.0, depth_mm=21.4), CutLine("rear", 18.0, 1.5)),
    "Chance to be inside after it 96 %, to have taken too much 0.1 %.",
    (
        "next run should show 0.1 g in front, give or take 0.5 g",
        "next run should show 0.0 g in rear, give or take 0.4 g",
    ),
    (
        "1 g at front takes 0.91 g off the front and 0.09 g off the rear",
        "1 g at rear takes 0.99 g off the rear and 0.01 g off the front, turned by +45°",
    ),
)
"""Cuts of our own making: the pictures stay the same however the planner is tuned."""


def spinning(state: JobState, proposal: Proposal | None = None) -> BenchView:
    """The spin step as the bench shows it: drill where cuts are proposed, spin while it is not inside."""
    view = view_of(state, Step.SPIN, Want())
    view = replace(view, proposal=proposal or view.proposal)
    want = what_is_wanted(
        state=state,
        review=view.review,
        step=Step.SPIN,
        aim=None,
        throw=None,
        phase=Phase.EMPTY,
        proposal=view.proposal,
        question=None,
    )
    cautions = {Doing.CUT: BEFORE_DRILLING, Doing.SPIN: BEFORE_SPIN}.get(want.doing, ())
    words = view.proposal.why if view.proposal is not None else "next: spin"
    notice = Notice(9, words, Tone.ATTENTION, "info")
    return view_of(state, Step.SPIN, want, notice=notice, cautions=cautions, proposal=view.proposal)


PARTS = (
    MountedPart(name="flywheel", position_mm=540.0, carries_g_mm=900.0, heavy_deg=90.0),
    MountedPart(name="damper", position_mm=-60.0, carries_g=6.0, at_radius_mm=80.0, heavy_deg=270.0),
)
FLYWHEEL = Stage(
    name="flywheel",
    planes=(CorrectionPlane(name="front", radius_mm=150.0, position_mm=540.0),),
    tolerance=Tolerance(shop_limit_g=0.5),
)


def parts_on(state: JobState, *mounted: str) -> BenchView:
    """An externally balanced crank with some of its parts on it."""
    spec = state.spec.model_copy(update={"balance": "external", "mounted": PARTS})
    spins = tuple(replace(spin, mounted=mounted) for spin in state.spins)
    state = replace(state, spec=spec, spins=spins, mounted=mounted if state.spins else None)
    view = spinning(state, LATER_CUTS if state.spins else None)
    words = instruction_for(view.want, state=state, step=Step.SPIN, scale_words="")
    return replace(view, cautions=cautions_for(view.want.doing, state), instruction=words)


def next_rotor() -> BenchView:
    """The crank of a set is inside, and the flywheel comes next."""
    state = after_runs(4)
    state = replace(state, spec=state.spec.model_copy(update={"stages": (FLYWHEEL,)}))
    view = spinning(state)
    return replace(view, instruction=instruction_for(view.want, state=state, step=Step.SPIN, scale_words=""))


def signed() -> BenchView:
    end = SignedOff(entry(90), words="", within_tolerance=True, deburred=True, cleaned=True)
    words = Notice(9, "signed off (entry 90)", Tone.ACCEPT, "good")
    return view_of(replace(some_state(runs=4), signed_off=end), Step.DONE, Want(), notice=words)


SCENES = {
    "spin-first": Scene(lambda: spinning(after_runs(0))),
    "spin-cut-card": Scene(lambda: spinning(after_runs(1), FIRST_CUTS)),
    "spin-cut-card-alone": Scene(lambda: spinning(after_runs(1), FIRST_CUTS), ("5",)),
    "spin-outside": Scene(lambda: spinning(after_runs(3), LATER_CUTS)),
    "spin-inside": Scene(lambda: spinning(after_runs(4))),
    "spin-too-close": Scene(lambda: spinning(after_runs(4, last=(0.93, 0.31)), LATER_CUTS)),
    "spin-parts-asked": Scene(lambda: parts_on(after_runs(0))),
    "spin-without-a-part": Scene(lambda: parts_on(after_runs(4), "damper")),
    "parts-mounted": Scene(lambda: parts_on(after_runs(4), "damper"), ("9",)),
    "parts-carried": Scene(lambda: parts_on(after_runs(4), "damper"), ("minus",)),
    "spin-next-rotor": Scene(next_rotor),
    "next-rotor": Scene(next_rotor, ("0",)),
    "help-empty": Scene(BenchView, ("f1",)),
    "help-weigh": Scene(weighing, ("f1",)),
    "help-spin": Scene(lambda: spinning(after_runs(3), LATER_CUTS), ("f1",)),
    "everything-empty": Scene(BenchView, ("f2",)),
    "sign-off-form": Scene(lambda: view_of(some_state(runs=4), Step.SIGN_OFF, Want(Doing.SIGN_OFF)), ("o",)),
    "signed-off": Scene(signed),
    "first-run": Scene(BenchView),
    "jobs": Scene(listed),
    "weigh": Scene(weighing),
    "weigh-taken": Scene(
        lambda: view_of(
            some_state(cells=2), Step.WEIGH, Want(Doing.LIFT), live=LiveLine("586.4", "g", "taken, lift it")
        )
    ),
    "weigh-question": Scene(asking),
    "weigh-scale-lost": Scene(unplugged),
    "weigh-whole-sheet": Scene(whole_sheet),
    "weigh-looking-only": Scene(lambda: weighing(read_only="open elsewhere")),
    "bobweights": Scene(bobweights),
    "sign-off": Scene(lambda: view_of(some_state(runs=4), Step.SIGN_OFF, Want(Doing.SIGN_OFF))),
    "trail": Scene(weighing, ("t", "r")),
    "match": Scene(whole_sheet, ("m",)),
    "pedal": Scene(weighing, ("p",)),
    "names": Scene(weighing, ("i",)),
    "layouts": Scene(BenchView, ("n",)),
    "new-job": Scene(BenchView, ("n", "enter")),
    "copy-job": Scene(weighing, ("y",)),
    "connect": Scene(BenchView, ("l",)),
    "guide": Scene(BenchView, ("h",)),
    "guide-page": Scene(BenchView, ("h", "enter")),
    "tour": Scene(weighing, ("u",)),
    "bring-in": Scene(weighing, ("v", "w", "enter")),
    "type-weight": Scene(weighing, ("e",)),
}
COLOURLESS = ("first-run", "weigh", "weigh-question", "bobweights", "match", "sign-off", "signed-off", "help-weigh")
COLOURLESS += tuple(name for name in SCENES if name.startswith("spin-"))
QUICK = ("first-run", "weigh", "weigh-question", "bobweights", "new-job")
TINY = ("first-run", "weigh", "weigh-taken", "weigh-question", "weigh-scale-lost", "bobweights")


async def drawn(scene: Scene, size: tuple[int, int], **words: Any) -> str:
    shop = AShop()
    shop.names = ("mk", "jo", "an")
    shop.there = [PortLine("/dev/ttyUSB0", "USB serial"), PortLine("COM3", "serial port")]
    app = BenchApp(ListeningDesk(scene.view()), tone_player=lambda _: None, shop=shop, **words)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        for key in scene.keys:
            await pilot.press(key)
            await settle(pilot)
        rows = frame(app)
        await settle(pilot)
        # nothing blinks or moves any more
        again = frame(app)
        return "\n".join(again if again != rows else rows) + "\n"


@pytest.mark.parametrize("name", QUICK)
async def test_the_main_screens_at_80x24(name: str) -> None:
    same_as_kept(await drawn(SCENES[name], SIZES["80x24"]), f"{name}-80x24")


@pytest.mark.long
@pytest.mark.parametrize("name", [name for name in SCENES if name not in QUICK])
async def test_the_other_screens_at_80x24(name: str) -> None:
    same_as_kept(await drawn(SCENES[name], SIZES["80x24"]), f"{name}-80x24")


@pytest.mark.long
@pytest.mark.parametrize("name", SCENES)
async def test_every_screen_at_120x40(name: str) -> None:
    same_as_kept(await drawn(SCENES[name], SIZES["120x40"]), f"{name}-120x40")


@pytest.mark.parametrize("name", TINY)
async def test_the_smallest_screens(name: str) -> None:
    same_as_kept(await drawn(SCENES[name], SIZES["40x10"]), f"{name}-40x10")


@pytest.mark.long
@pytest.mark.parametrize("name", ["weigh", "weigh-whole-sheet", "layouts"])
async def test_the_oldest_console(name: str) -> None:
    text = await drawn(SCENES[name], SIZES["80x24"], glyphs="ascii")
    same_as_kept(text, f"{name}-80x24-ascii")


@pytest.mark.long
@pytest.mark.parametrize("name", COLOURLESS)
async def test_without_any_colour_the_words_are_the_same(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    coloured = await drawn(SCENES[name], SIZES["80x24"])
    assert await drawn(SCENES[name], SIZES["80x24"], theme="mono") == coloured
    monkeypatch.setenv("NO_COLOR", "1")
    assert await drawn(SCENES[name], SIZES["80x24"]) == coloured


@pytest.mark.long
@pytest.mark.parametrize("name", ["weigh-whole-sheet", *COLOURLESS])
async def test_no_hue_reaches_a_screen_that_asked_for_none(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = BenchApp(ListeningDesk(SCENES[name].view()), tone_player=lambda _: None)
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert app.theme == "mono"
        for strip in app.screen._compositor.render_strips():
            for segment in strip:
                for colour in (segment.style.color, segment.style.bgcolor) if segment.style else ():
                    if colour is not None and colour.triplet is not None:
                        assert len(set(colour.triplet)) == 1, (segment.text, colour)


@pytest.mark.parametrize("size", list(SIZES.values()), ids=list(SIZES))
@pytest.mark.parametrize("name", ["weigh", "bobweights"])
async def test_large_letters_are_large_enough_for_three_metres(name: str, size: tuple[int, int]) -> None:
    text = await drawn(SCENES[name], size)
    rows = [row for row in text.splitlines() if sum(char in "█▀▄" for char in row) >= 4]
    assert len(rows) >= 0.11 * size[1]

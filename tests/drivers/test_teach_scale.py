"""The teacher against invented formats: what it learns reads everything, and what it cannot learn it refuses."""

from __future__ import annotations

import random
import zlib
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

import pytest

from drivers.contract import LineFault, Reading
from drivers.scales.streaming import StreamingScale
from drivers.teach import NeedsMore, Taught, TaughtState, Unreadable, teach_scale
from tests.drivers.formats.scale_formats import (
    FORMATS,
    Composition,
    Moment,
    at_rest,
    capture,
    composed,
    on_the_move,
    random_part,
    sent,
)

ZERO = Decimal(0)
LINES = 7  # five whole ones and the two that are cut


def shown(value: Decimal, form: Composition) -> str:
    return f"{value:.{form.places}f} {form.symbol}"


def steps(form: Composition, rng: random.Random, *, tare: bool = True, moving: int = 10) -> list[TaughtState]:
    part = random_part(form, rng)
    states = [
        TaughtState(capture(form, rng, at_rest(form, rng, gross=ZERO, tare=ZERO, lines=LINES)), shown(ZERO, form))
    ]
    if moving:
        states.append(TaughtState(capture(form, rng, on_the_move(form, rng, to=part, lines=moving)), role="moving"))
    states.append(
        TaughtState(capture(form, rng, at_rest(form, rng, gross=part, tare=ZERO, lines=LINES)), shown(part, form))
    )
    if tare:
        lifted = capture(form, rng, at_rest(form, rng, gross=ZERO, tare=part, lines=LINES))
        states.append(TaughtState(lifted, shown(-part, form)))
    return states


@dataclass
class Score:
    full: bool
    wrong: int
    flag_right: bool | None
    detail: str = ""


def judge(form: Composition, taught: Taught, rng: random.Random, *, lines: int = 120) -> Score:
    driver = StreamingScale(taught.profile)
    driver.feed(sent(form, Moment(ZERO, ZERO, True, 0)), 0)
    right = wrong = flags = 0
    detail = ""
    for at in range(lines):
        tare = random_part(form, rng) if at % 3 == 0 else ZERO
        gross = random_part(form, rng) if at % 4 else ZERO
        moment = Moment(gross, tare, at % 2 == 0, rng.randrange(86400))
        items = driver.feed(sent(form, moment), at)
        readings = [item for item in items if isinstance(item, Reading)]
        good = len(readings) == 1 and readings[0].value == moment.shown and readings[0].unit == form.symbol
        if good and form.kinds and readings[0].net is not None:
            good = readings[0].net == bool(moment.tare)
        flag = readings[0].steady if readings else None
        wrong += bool(readings) and (not good or (flag is not None and flag != moment.steady))
        flags += flag is not None and flag == moment.steady
        right += good
        if not good and not detail:
            detail = f"{sent(form, moment)!r} as {items}"
    has_flag = form.states is not None and form.both != "block"
    return Score(right == lines and not wrong, wrong, flags == lines if has_flag else None, detail)


def seed(name: str) -> int:
    return zlib.crc32(name.encode())


@pytest.mark.parametrize("name", FORMATS)
def test_three_steps_teach_a_format(name: str) -> None:
    form = FORMATS[name]
    for repeat in range(3):
        rng = random.Random(seed(name) + repeat)
        taught = teach_scale(steps(form, rng))
        assert isinstance(taught, Taught), taught
        score = judge(form, taught, rng)
        assert not score.wrong, (score.detail, taught.profile)
        assert score.full, (score.detail, taught.profile)
        assert score.flag_right in {True, None}, taught.profile


@pytest.mark.parametrize("name", FORMATS)
def test_two_steps_teach_or_ask_but_never_teach_wrong(name: str) -> None:
    form = FORMATS[name]
    rng = random.Random(seed(name))
    taught = teach_scale(steps(form, rng, tare=False))
    if isinstance(taught, Taught):
        assert judge(form, taught, rng).wrong == 0
    else:
        assert isinstance(taught, NeedsMore), taught


def survey(count: int, first: int, *, tare: bool = True) -> Counter[str]:
    totals: Counter[str] = Counter()
    for at in range(first, first + count):
        rng = random.Random(at)
        form = composed(rng)
        taught = teach_scale(steps(form, rng, tare=tare))
        totals[type(taught).__name__] += 1
        if isinstance(taught, Taught):
            score = judge(form, taught, rng, lines=60)
            totals["full"] += score.full
            totals["wrong"] += bool(score.wrong)
            if score.flag_right is not None:
                totals["flagged formats"] += 1
                totals["flags right"] += score.flag_right
    return totals


def test_random_compositions_are_learnt_and_never_wrong() -> None:
    totals = survey(100, 1000)
    assert totals["wrong"] == 0, totals
    assert totals["full"] >= 98, totals


def test_random_compositions_with_two_steps_are_never_wrong() -> None:
    totals = survey(60, 5000, tare=False)
    assert totals["wrong"] == 0, totals
    assert totals["Unreadable"] <= 2, totals


@pytest.mark.long
@pytest.mark.timeout(900)
def test_four_hundred_unseen_compositions() -> None:
    totals = survey(400, 700_000)
    print(totals)
    assert totals["wrong"] == 0, totals
    assert totals["full"] >= 392, totals
    assert totals["flags right"] == totals["flagged formats"], totals


def typed_wrong(kind: str, part: Decimal, form: Composition, rng: random.Random) -> str | None:
    """Return what a person types instead, or None when the slip changes nothing."""
    text = f"{part:.{form.places}f}"
    if kind == "digit":
        at = rng.choice([n for n, letter in enumerate(text[:-1]) if letter.isdigit()])
        return text[:at] + rng.choice([d for d in "123456789" if d != text[at]]) + text[at + 1 :] + f" {form.symbol}"
    if kind == "swapped":
        at = next((n for n in range(len(text) - 3) if text[n] != text[n + 1] and "." not in text[n : n + 2]), None)
        return None if at is None else text[:at] + text[at + 1] + text[at] + text[at + 2 :] + f" {form.symbol}"
    if kind == "unit":
        return f"{text} lb"
    return text.split(".", maxsplit=1)[0] + f" {form.symbol}" if form.places else None


@pytest.mark.parametrize("kind", ["digit", "swapped", "unit", "decimals"])
def test_typing_slips_never_teach_a_wrong_reading(kind: str) -> None:
    caught = harmless = 0
    for name, form in FORMATS.items():
        if kind == "unit" and not form.unit:
            continue
        rng = random.Random(seed(name) + 7)
        states = steps(form, rng)
        part = max((state for state in states if state.role == "rest"), key=lambda s: Decimal(s.shown.split()[0]))
        wrong = typed_wrong(kind, Decimal(part.shown.split()[0]), form, rng)
        if wrong is None:
            continue
        states[states.index(part)] = TaughtState(part.raw, wrong)
        learnt = teach_scale(states)
        if isinstance(learnt, Taught):
            assert judge(form, learnt, rng).wrong == 0, (name, learnt.profile)
            harmless += 1
        else:
            caught += 1
    print(f"{kind}: {caught} caught, {harmless} harmless")
    assert caught > 9 * harmless


def hard(kind: str, value: Decimal) -> bytes:
    text = f"{value:7.1f}"
    if kind == "no end mark":
        return text.encode() + b"g "
    if kind == "hexadecimal":
        return b"%06X\r\n" % int(value * 10)
    if kind == "spaced digits":
        return (" ".join(text) + " g\r\n").encode()
    if kind == "packed":
        return bytes.fromhex(f"{int(value * 10):08d}") + b"\x0d\x0a"
    return b"\x80\x81" + bytes(0x80 | byte for byte in text.encode()) + b"\xff"


@pytest.mark.parametrize("kind", ["no end mark", "hexadecimal", "spaced digits", "packed", "top bits"])
def test_what_is_too_hard_is_refused_in_words(kind: str) -> None:
    values = [Decimal("0.0"), Decimal("603.8"), Decimal("-603.8") if kind != "packed" else Decimal("41.5")]
    states = [TaughtState(hard(kind, abs(value)) * 8, f"{value} g") for value in values]
    learnt = teach_scale(states)
    assert isinstance(learnt, Unreadable | NeedsMore), learnt
    if isinstance(learnt, Unreadable):
        assert learnt.found
        assert learnt.wanted
        assert learnt.do


def plain(value: str, *, unit: str = "g", lines: int = LINES) -> bytes:
    return f"wt {value:>8} {unit}\r\n".encode() * lines


@pytest.mark.parametrize(
    ("states", "words"),
    [
        ([TaughtState(plain("0.0"), "nothing")], "nothing"),
        ([TaughtState(plain("0.0"), "0.0 stone")], "stone"),
        ([TaughtState(plain("0.0"), "0.0"), TaughtState(plain("603.8"), "603.8")], "unit"),
        ([TaughtState(plain("0.0"), "0.0 g"), TaughtState(plain("0.0"), "0.0 g")], "part"),
        ([TaughtState(plain("0.0"), "0.0 g"), TaughtState(plain("122.1"), "122.1 g")], "both ends"),
        ([TaughtState(plain("0.0", lines=3), "0.0 g"), TaughtState(plain("603.8"), "603.8 g")], "wait"),
        ([TaughtState(plain("0.0"), "0.00 g"), TaughtState(plain("603.8"), "603.8 g")], "decimals"),
        ([TaughtState(plain("0.0"), "0.0 g"), TaughtState(plain("603.8", unit="kg"), "603.8 kg")], "unit"),
        ([TaughtState(b"\x80" * 50, "0.0 g"), TaughtState(b"\x80" * 50, "603.8 g")], "end mark"),
    ],
)
def test_what_is_missing_is_asked_for_in_words(states: list[TaughtState], words: str) -> None:
    if words == "unit" and "kg" not in states[1].shown:
        states = [TaughtState(state.raw.replace(b" g", b"  "), state.shown) for state in states]
    learnt = teach_scale(states)
    assert isinstance(learnt, Unreadable | NeedsMore), learnt
    assert words in str(learnt), learnt


def test_overload_and_saving(tmp_path: object) -> None:
    from pathlib import Path

    from drivers.contract import Condition
    from drivers.profile_writing import save_profile
    from drivers.registry import make_scale_driver, scale_names

    assert isinstance(tmp_path, Path)
    learnt = teach_scale(
        [
            TaughtState(plain("0.0"), "0.0 g"),
            TaughtState(plain("603.8"), "603.8 g"),
            TaughtState(plain("-603.8"), "-603.8 g"),
            TaughtState(plain("9999.9"), role="overload"),
        ],
        name="mine",
    )
    assert isinstance(learnt, Taught)
    path = save_profile(learnt.profile, tmp_path)
    with pytest.raises(FileExistsError):
        save_profile(learnt.profile, tmp_path)
    assert path.name == "mine.toml"
    assert "mine" in scale_names(folder=tmp_path)
    driver = make_scale_driver("mine", folder=tmp_path)
    items = driver.feed(b"\r\n" + plain("9999.9", lines=1) + plain("41.3", lines=1), 0)
    assert [(item.condition, item.value) for item in items if isinstance(item, Reading)] == [
        (Condition.OVERLOAD, None),
        (Condition.WEIGHT, Decimal("41.3")),
    ]
    assert not [item for item in items if isinstance(item, LineFault)]
    assert any("settled lines" in why for why in learnt.why)

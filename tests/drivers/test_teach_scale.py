"""The teacher against invented formats: what it learns reads everything, and what it cannot learn it refuses."""

from __future__ import annotations

import random
import zlib
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

import pytest

from drivers.contract import Reading
from drivers.scales.streaming import StreamingScale
from drivers.teach import NeedsMore, Taught, TaughtState, teach_scale
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

"""One recording of all steps is cut where the display stood; what comes of it is never wrong."""

from __future__ import annotations

import random
import zlib
from collections import Counter
from decimal import Decimal

import pytest

from drivers.teach import Taught, TaughtState, Unreadable, teach_scale
from drivers.teach_cutting import lines_heard, moving_bytes, steps_of_recording
from tests.drivers.formats.scale_formats import (
    FORMATS,
    Composition,
    at_rest,
    capture,
    composed,
    on_the_move,
    random_part,
)
from tests.drivers.test_teach_scale import judge, shown

ZERO = Decimal(0)


def recorded(form: Composition, rng: random.Random) -> tuple[bytes, list[str]]:
    """Return a recording of nothing, a part, the part tared off and lifted; and what the display showed."""
    part = random_part(form, rng)
    moments = [
        *at_rest(form, rng, gross=ZERO, tare=ZERO, lines=rng.randrange(8, 14)),
        *on_the_move(form, rng, to=part, lines=10),
        *at_rest(form, rng, gross=part, tare=ZERO, lines=rng.randrange(8, 14)),
        *at_rest(form, rng, gross=part, tare=part, lines=rng.randrange(6, 9)),
        *at_rest(form, rng, gross=ZERO, tare=part, lines=rng.randrange(8, 14)),
    ]
    return capture(form, rng, moments), [shown(value, form) for value in (ZERO, part, -part)]


def outcome(form: Composition, rng: random.Random) -> str:
    data, typed = recorded(form, rng)
    steps = steps_of_recording(data, typed)
    if isinstance(steps, Unreadable):
        assert steps.do
        return "asks for files"
    learnt = teach_scale(steps)
    if not isinstance(learnt, Taught):
        return "refused"
    score = judge(form, learnt, rng, lines=40)
    return "wrong" if score.wrong else "full" if score.full else "short"


def survey(forms: dict[str, Composition], *, first: int, count: int) -> Counter[str]:
    totals = Counter(outcome(form, random.Random(zlib.crc32(name.encode()))) for name, form in forms.items())
    return totals + Counter(
        outcome(composed(random.Random(at)), random.Random(at)) for at in range(first, first + count)
    )


def test_one_recording_of_all_steps_teaches_or_asks_but_never_teaches_wrong() -> None:
    totals = survey(dict(list(FORMATS.items())[::4]), first=9000, count=15)
    assert totals["wrong"] == 0, totals
    assert totals["full"] >= 0.7 * totals.total(), totals


@pytest.mark.long
@pytest.mark.timeout(900)
def test_four_hundred_recordings_never_teach_wrong() -> None:
    totals = survey(FORMATS, first=30_000, count=400)
    print(totals)
    assert totals["wrong"] == 0, totals
    assert totals["full"] >= 0.8 * totals.total(), totals


def test_a_number_that_is_not_in_the_recording_is_named() -> None:
    data = b"wt     0.0 g\r\n" * 8 + b"wt   603.8 g\r\n" * 8
    refused = steps_of_recording(data, ["0.0 g", "512.3 g"])
    assert isinstance(refused, Unreadable)
    assert "512.3 g after the step before it" in refused.found
    assert isinstance(steps_of_recording(data, ["603.8 g", "0.0 g"]), Unreadable)
    assert isinstance(steps_of_recording(data, ["much"]), Unreadable)
    steps = steps_of_recording(data, ["0.0 g", "603.8 g"])
    assert isinstance(steps, list)
    assert [step.role for step in steps] == ["rest", "rest"]


@pytest.mark.parametrize("between", [b"", b"wt     0.0 g\r\n" * 9, b"wt   603.7 g\r\nwt   603.9 g\r\n" * 4])
def test_where_nothing_moved_nothing_is_called_moving(between: bytes) -> None:
    rest = {"before": b"wt     0.0 g\r\n" * 8, "after": b"wt   603.8 g\r\n" * 8}
    assert moving_bytes(between, **rest) == b""


def test_a_rest_on_the_way_is_no_movement() -> None:
    before, after = b"A   503.7 g\r\n" * 8, b"A  -503.7 g\r\n" * 8
    tared, moved = b"A     0.0 g\r\n" * 20, b"B  -120.4 g\r\nB  -412.9 g\r\n"
    heard = moving_bytes(before + b"B   420.0 g\r\n" + tared + moved + after, before=before, after=after)
    assert [line[:1] for line in lines_heard(heard)] == [b"A", b"B", b"B", b"B", b"A"]


def test_states_are_the_teacher_s() -> None:
    steps = steps_of_recording(b"wt     0.0 g\r\n" * 8, ["0.0 g"])
    assert isinstance(steps, list)
    assert isinstance(steps[0], TaughtState)

from __future__ import annotations

import pytest

from bench.capture.pedal import PedalWatch, Press


def judged(*moments: float, confirming: bool = False) -> list[Press]:
    watch = PedalWatch()
    return [watch.pressed(moment, confirming=confirming) for moment in moments]


A, N, Q = Press.ACT, Press.IGNORE, Press.ASK


def test_presses_apart_count_and_bounces_do_not() -> None:
    assert judged(10.0, 11.0, 12.5) == [A, A, A]
    assert judged(10.0, 10.004, 10.011, 11.0) == [A, N, N, A]
    assert judged(10.0, 10.18, 11.0) == [A, N, A]


@pytest.mark.parametrize("delay", [0.25, 0.5, 0.66])
@pytest.mark.parametrize("rate", [10, 25, 33])
def test_a_key_held_down_never_confirms_and_asks_once(delay: float, rate: int) -> None:
    moments = [10.0, *(10.0 + delay + n / rate for n in range(3 * rate))]
    told = judged(*moments, confirming=True)
    assert told[0] is A
    assert set(told[1:]) == {N, Q}
    assert told.count(Q) == 1
    # not before it was held for a second
    assert moments[told.index(Q)] - 10.0 >= 1.0


def test_after_a_hold_the_pedal_works_again() -> None:
    watch = PedalWatch()
    for n in range(50):
        watch.pressed(10.0 + 0.03 * n)
    assert watch.pressed(13.0) is A
    assert watch.pressed(14.0, confirming=True) is A

"""Speed, parity and bits found from what a wrongly set receiver makes of the wire, simulated bit by bit."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest

from drivers.profile import PortSettings
from drivers.teach_port import (
    CONFIRM_S,
    Heard,
    dwell_s,
    is_plausible,
    parity_in_top_bit,
    plausibility,
    settings_to_try,
    settled,
)

BAUDS = (1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200)


class Sender:
    """A scale on a wire: start bit, data bits low first, parity, stop bits; idle is high."""

    def __init__(self, rng: random.Random) -> None:
        self.baud = rng.choice(BAUDS)
        self.bits, self.parity = rng.choice(
            [(8, "none"), (8, "none"), (8, "even"), (8, "odd"), (7, "even"), (7, "odd")]
        )
        form = rng.choice(
            [
                "{:+08.1f} g\r\n",
                "ST,{:9.2f} g\r\n",
                "  {:7.1f} g ok\r",
                "\x02{:09.2f}g\x03",
                "wt {:.1f}\n",
                "calm, gross, {:12.1f} g  \r\n",
            ]
        )
        self._value = 0.0 if rng.random() < 0.4 else rng.uniform(1, 2000)
        self._rng, self._form = rng, form
        self.gap_s = rng.choice([0.0, 0.02, 0.1])

    def line(self) -> bytes:
        self._value = abs(self._value + self._rng.choice([0, 0, 0, 0.1, -0.1]) * (self._value > 0))
        return self._form.format(self._value).encode()

    def wave(self, seconds: float) -> list[tuple[float, int]]:
        """Return (time, level) at each change, from somewhere in the middle of a line."""
        bit_s = 1 / self.baud
        changes: list[tuple[float, int]] = [(0.0, 1)]
        at = 0.0
        skip = self._rng.randrange(1, 8)
        while at < seconds:
            for byte in self.line()[skip:]:
                data = [byte >> n & 1 for n in range(self.bits)]
                ones = sum(data) & 1
                check = {"none": [], "even": [ones], "odd": [1 - ones]}[self.parity]
                for level in [0, *data, *check, 1]:
                    if changes[-1][1] != level:
                        changes.append((at, level))
                    at += bit_s
            skip = 0
            at += self.gap_s
        return changes


def received(changes: list[tuple[float, int]], setting: PortSettings, seconds: float) -> Heard:
    """Sample the wire as a receiver with this setting does."""
    bit_s = 1 / setting.baud
    place, data, errors = 0, bytearray(), 0

    def level(at: float, place: int) -> tuple[int, int]:
        while place + 1 < len(changes) and changes[place + 1][0] <= at:
            place += 1
        return changes[place][1], place

    def falls(start: float, place: int) -> Iterator[tuple[float, int]]:
        for n in range(place, len(changes)):
            if changes[n][0] >= start and changes[n][1] == 0:
                yield changes[n][0], n
                return

    at = 0.0
    while at < seconds:
        fall = next(falls(at, max(0, place - 1)), None)
        if fall is None:
            break
        start, place = fall
        value = 0
        for n in range(setting.bits):
            bit, place = level(start + bit_s * (n + 1.5), place)
            value |= bit << n
        width = setting.bits + 1
        if setting.parity != "none":
            bit, place = level(start + bit_s * (width + 0.5), place)
            errors += (value.bit_count() + bit) & 1 != (setting.parity == "odd")
            width += 1
        stop, place = level(start + bit_s * (width + 0.5), place)
        errors += stop == 0
        data.append(value)
        at = start + bit_s * (width + 0.5)
    return Heard(bytes(data), errors)


def find(sender: Sender) -> tuple[PortSettings | None, float]:
    """Try the settings in their order; return what is kept and how long it took."""
    spent = 0.0
    for setting in settings_to_try():
        listen_s = dwell_s(setting)
        spent += listen_s
        if not is_plausible(received(sender.wave(listen_s), setting, listen_s)):
            continue
        spent += CONFIRM_S
        heard = received(sender.wave(CONFIRM_S), setting, CONFIRM_S)
        if is_plausible(heard):
            return settled(setting, heard), spent
    return None, spent


def survey(count: int, *, seed: int) -> tuple[int, float, float]:
    right, times = 0, []
    for at in range(count):
        sender = Sender(random.Random(seed + at))
        found, spent = find(sender)
        times.append(spent)
        good = found is not None and found.baud == sender.baud
        if good and found is not None:
            # The characters are right when bits and parity are, or when eight bits carry the same seven.
            good = (found.bits, found.parity) == (sender.bits, sender.parity) or (
                sender.bits == 7 and found.bits + (found.parity != "none") == 8
            )
        right += good
    return right, sum(times) / count, max(times)


def test_random_senders_are_found() -> None:
    right, mean_s, worst_s = survey(40, seed=100)
    print(f"{right} of 40, {mean_s:.1f} s on average, {worst_s:.1f} s at worst")
    assert right >= 39
    assert mean_s <= 8.0
    assert worst_s <= 20.0


@pytest.mark.long
@pytest.mark.timeout(900)
def test_two_hundred_random_senders_are_found() -> None:
    right, mean_s, worst_s = survey(200, seed=1000)
    print(f"{right} of 200, {mean_s:.1f} s on average, {worst_s:.1f} s at worst")
    assert right >= 198
    assert mean_s <= 8.0
    assert worst_s <= 20.0


def test_noise_and_silence_are_not_plausible() -> None:
    assert plausibility(Heard(b"")) == 0.0
    assert not is_plausible(Heard(random.Random(1).randbytes(400)))
    assert not is_plausible(Heard(b"\x00" * 400))
    assert is_plausible(Heard(b"wt 603.8 g\r\n" * 4))
    assert not is_plausible(Heard(b"wt 603.8 g\r\n" * 4, errors=12))


def test_parity_in_the_top_bit() -> None:
    even = bytes(byte | (byte.bit_count() & 1) << 7 for byte in b"wt 603.8 g\r\n")
    odd = bytes(byte | (1 - (byte.bit_count() & 1)) << 7 for byte in b"wt 603.8 g\r\n")
    assert parity_in_top_bit(even) == "even"
    assert parity_in_top_bit(odd) == "odd"
    assert parity_in_top_bit(b"wt 603.8 g") is None
    assert parity_in_top_bit(even + odd) is None
    assert settled(PortSettings(), Heard(odd)) == PortSettings(bits=7, parity="odd")

"""Numbers against a grammar written a second time, mixed units, and every encoding a machine may print in."""

from __future__ import annotations

import random
import re
from decimal import Decimal
from itertools import permutations

import pytest

from bench.capture.units import GRAMS
from drivers.balancers.balancer_profile import BalancerProfile
from drivers.balancers.keyed_block import KeyedBlockReader
from drivers.contract import Condition, ExportFault, LineFault, LinkChange, Reading, SpinReading
from drivers.listening import ScaleListening
from drivers.number_style import NumberStyle
from drivers.profile import parse_profile

# written from the words of the rule, not from the code: a sign, blanks after it, up to six padding zeros, one to seven
# digits, a decimal sign with one to four digits, blanks around it
GRAMMAR = {
    mark: re.compile(rf" *[+-]? *0{{0,6}}[0-9]{{1,7}}({re.escape(mark)}[0-9]{{1,4}})? *", re.ASCII) for mark in ".,"
}
LETTERS = "0123456789" * 3 + "+-.,  eE_x'\x00\t\u0661\uff12\u2212\u00b2n"
ODD = (
    "nan", "inf", "1e400", "1e-400", "1_000", "\uff11\uff12", "\u0663", "\u22125", "+.5", "5.", "0x1p3", "00012",
    "1.2.3", "--5", "", "12\0", "9" * 4301, "1." + "7" * 17, "1\n", "\n1", "1\r", "+ 5", "5 +", "\u00a05",
)  # fmt: skip


def refused_or_of_the_grammar(texts: list[str]) -> int:
    accepted = 0
    for mark, grammar in GRAMMAR.items():
        style = NumberStyle(decimal=mark)
        for text in texts:
            value = style.read(text)
            if value is None:
                continue
            accepted += 1
            assert grammar.fullmatch(text), repr(text)
            assert value == Decimal(text.replace(" ", "").replace(",", "."))
    return accepted


def some(count: int, seed: int) -> list[str]:
    dice = random.Random(seed)
    made = ["".join(dice.choices(LETTERS, k=dice.randrange(1, 10))) for _ in range(count)]
    # half of them nearly right: a number with one letter exchanged
    for place in range(0, count, 2):
        text = f"{dice.uniform(-9999, 9999):.{dice.randrange(5)}f}"
        at = dice.randrange(len(text))
        made[place] = text[:at] + dice.choice(LETTERS) + text[at + dice.randrange(2) :]
    return made


def test_odd_numbers_and_ten_thousand_random_ones() -> None:
    assert refused_or_of_the_grammar(list(ODD)) <= 4  # 00012, "+ 5" by either mark
    assert refused_or_of_the_grammar(some(10_000, 1)) > 1000


@pytest.mark.long
def test_a_million_random_numbers() -> None:
    accepted = sum(refused_or_of_the_grammar(some(100_000, seed)) for seed in range(2, 12))
    print(f"{accepted} of 2,000,000 readings of 1,000,000 texts accepted, every one of the grammar")
    assert accepted > 100_000


class Heard:
    def __init__(self) -> None:
        self.readings: list[Reading] = []
        self.changes: list[tuple[str, str]] = []

    def reading_came(self, reading: Reading) -> None:
        self.readings.append(reading)

    def fault_came(self, fault: LineFault) -> None:
        raise AssertionError(fault)

    def unit_changed(self, *, old: str, new: str) -> None:
        self.changes.append((old, new))

    def link_changed(self, change: LinkChange) -> None:
        raise AssertionError(change)


class Units:
    """A driver whose bytes are the unit."""

    profile_name = "units"

    def feed(self, chunk: bytes, at_ns: int) -> list[Reading | LineFault]:
        return [Reading(at_ns, Decimal(1), chunk.decode(), Condition.WEIGHT, None, None, chunk)]

    def link_lost(self) -> None:
        pass


def test_a_unit_that_changes_in_the_middle_is_told_in_ten_thousand_mixed_streams() -> None:
    dice = random.Random(7)
    pairs = list(permutations(GRAMS, 2))
    streams = [([one] * 3 + [other] * 3) for one, other in pairs]
    while len(streams) < 10_000:
        streams.append([dice.choice(list(GRAMS)) for _ in range(dice.randrange(2, 12))])
    told = 0
    for stream in streams:
        heard = Heard()
        listening = ScaleListening(Units(), heard)
        for at, unit in enumerate(stream):
            listening.bytes_came(unit.encode(), at)
        assert {one.unit for one in heard.readings} == {stream[0]}  # nothing of another unit comes through unasked
        others = [unit for unit in stream if unit != stream[0]]
        assert bool(heard.changes) == bool(others)
        assert {new for _, new in heard.changes} == set(others)
        told += bool(others)
    assert told > 9000
    assert len({tuple(stream) for stream in streams[: len(pairs)]}) == len(pairs) == 72


PROFILE = """
name = "m"
driver = "keyed-block"
encoding = "{encoding}"
unit = "g"
planes = {{ L = "front", R = "rear" }}
numbers = {{ decimal = "." }}
angle = {{ zero_deg = 0, sense = "counter-clockwise", seen_from = "front", shows = "excess" }}
block.begin = "TEST {{label}}"
block.end = "OK"
block.line = [{{ text = "{{plane}} {{amount}} g {{angle}}" }}]
"""
TEXT = "TEST {label}\r\nL 12.34 g 210.0\r\nR 4.10 g 15.5\r\nOK\r\n"


def read(encoding: str, data: bytes) -> list[SpinReading | ExportFault]:
    profile = parse_profile(PROFILE.format(encoding=encoding).encode(), BalancerProfile, where="m.toml")
    return KeyedBlockReader.from_profile(profile).read(data)


@pytest.mark.parametrize(
    ("encoding", "label"),
    [
        ("utf-8", "M\u00e4kil\u00e4-7-\u0141"),
        ("utf-16", "M\u00e4kil\u00e4-7-\u0141"),
        ("latin-1", "B\u00fcrste-\u00e9"),
        ("cp1252", "B\u00fcrste-\u20ac"),
        ("cp437", "B\u00fcrste-\u00e9"),
        ("ascii", "Burste"),
    ],
)
def test_a_name_comes_back_exactly_in_every_encoding(encoding: str, label: str) -> None:
    (run,) = read(encoding, TEXT.format(label=label).encode(encoding))
    assert isinstance(run, SpinReading)
    assert run.label == label


@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "cp1252"])
@pytest.mark.parametrize("bad", [b"\x81", b"\x8d\x90", b"\xff\x81"])
def test_bytes_that_are_no_text_are_refused_with_their_line_and_value(encoding: str, bad: bytes) -> None:
    data = TEXT.format(label="7").encode().replace(b"L 12.34", b"L " + bad + b"12.34")
    (fault,) = read(encoding, data)
    assert isinstance(fault, ExportFault)
    assert fault.line == 2
    assert re.search(r"\\x[0-9a-f]{2}|byte", fault.found), fault.found
    assert fault.found.isprintable()
    assert "encoding" in fault.do

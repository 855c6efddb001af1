"""Bytes to lines: the cut never matters, the memory stays flat, and damage ends with the next mark."""

from __future__ import annotations

import itertools
import random
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.framing import LineFramer, Overlong

MARKS = [
    (b"", b""),
    (b"\r\n", b""),
    (b"\r", b""),
    (b"\n\r", b""),
    (b"\x03", b"\x02"),
    (b"", b"\x02"),
    (b"\r\n", b"\x02"),
]
SOUP = st.lists(
    st.sampled_from(
        [
            b"\r",
            b"\n",
            b"\x02",
            b"\x03",
            b"\r\n",
            b"wt 1",
            b"x" * 9,
            b"\x00",
            b"\x0b",
            b"\x0c",
            b"\xc2\x85",
            b"\xe2\x80\xa8",
        ]
    )
)


@given(SOUP, st.sampled_from(MARKS), st.lists(st.integers(0, 120), max_size=8), st.booleans())
def test_cuts_never_change_the_lines(
    soup: list[bytes], marks: tuple[bytes, bytes], cuts: list[int], drop: object
) -> None:
    data = b"".join(soup)
    end, start = marks
    whole = LineFramer(end=end, start=start, cap=12, drop_first=bool(drop))
    pieces = LineFramer(end=end, start=start, cap=12, drop_first=bool(drop))
    single = LineFramer(end=end, start=start, cap=12, drop_first=bool(drop))
    wanted = whole.feed(data)
    places = [0, *sorted(min(cut, len(data)) for cut in cuts), len(data)]
    got = [line for a, b in itertools.pairwise(places) for line in pieces.feed(data[a:b])]
    one_by_one = [line for byte in data for line in single.feed(bytes([byte]))]
    assert without_heads(got) == without_heads(wanted) == without_heads(one_by_one)


def without_heads(lines: list[bytes | Overlong]) -> list[bytes | str]:
    return ["long" if isinstance(line, Overlong) else line for line in lines]


def test_a_line_longer_than_the_cap_is_told_once_and_the_next_one_is_whole() -> None:
    framer = LineFramer(cap=10, drop_first=False)
    assert framer.feed(b"y" * 1000) == [Overlong(b"y" * 10)]
    assert framer.feed(b"y" * 1000) == []
    assert framer.feed(b"\r\nwt 1\r\n") == [b"wt 1"]


@pytest.mark.parametrize("mark", ["\x0b", "\x0c", "\x85", "\u2028"])
def test_only_the_configured_bytes_end_a_line(mark: str) -> None:
    data = f"a{mark}b".encode()
    assert LineFramer(drop_first=False).feed(data + b"\r\n") == [data]


def test_reset_drops_what_was_begun_and_the_partial_line_after_it() -> None:
    framer = LineFramer(end=b"\r\n")
    framer.feed(b"\r\nwt 1")
    framer.reset()
    assert framer.feed(b"23.4 g\r\nwt 5\r\n") == [b"wt 5"]


def test_bad_construction_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 1 byte"):
        LineFramer(cap=0)
    with pytest.raises(ValueError, match="one byte or none"):
        LineFramer(start=b"ab")


@pytest.mark.parametrize("marks", MARKS)
@pytest.mark.parametrize("flood", [b"\x00", b"\xff", b"7", b"\x02", None])
def test_floods_leave_memory_flat(marks: tuple[bytes, bytes], flood: bytes | None) -> None:
    rng = random.Random(1)
    framer = LineFramer(end=marks[0], start=marks[1])
    chunk = flood * 4096 if flood else rng.randbytes(4096)
    framer.feed(chunk)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    for _ in range(250):
        framer.feed(chunk)
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    assert grown < 100_000

"""Typed bursts are told from typing; what a listener says of lines, units and lost links."""

from __future__ import annotations

import pytest

from drivers.contract import LineFault, LinkChange, LinkState, Reading
from drivers.listening import ScaleListening
from drivers.registry import make_scale_driver
from drivers.scales.wedge import BurstParser


def typed(parser: BurstParser, text: str, *, gap_ms: float) -> list[str]:
    found = [parser.key(letter, at_ns=int((100 + at * gap_ms) * 1e6)) for at, letter in enumerate(text)]
    return [burst for burst in found if burst is not None]


@pytest.mark.parametrize(("gap_ms", "taken"), [(1, True), (16, True), (34, True), (45, False), (120, False)])
def test_bursts_are_told_from_typing(gap_ms: float, taken: object) -> None:
    assert typed(BurstParser(), "603.8\r", gap_ms=gap_ms) == (["603.8"] if taken else [])


def test_bursts_with_a_prefix_short_ones_long_ones_and_pastes() -> None:
    assert typed(BurstParser(prefix="%"), "%603.8\r", gap_ms=5) == ["603.8"]
    assert typed(BurstParser(prefix="%"), "603.8\r", gap_ms=5) == []
    assert typed(BurstParser(), "1.0\r", gap_ms=5) == []
    assert typed(BurstParser(), "9" * 500 + "\r", gap_ms=5) == []
    assert typed(BurstParser(gap_ms=60), "603.8\r", gap_ms=50) == ["603.8"]
    parser = BurstParser()
    parser.key("6", at_ns=0)
    assert [parser.key(letter, at_ns=900_000_000 + at) for at, letter in enumerate("1.25\r")][-1] == "1.25"
    assert parser.paste("603.8\r\nabc\n12.30\nrest") == ["603.8", "12.30"]


class Listening:
    def __init__(self) -> None:
        self.readings: list[Reading] = []
        self.faults: list[LineFault] = []
        self.units: list[tuple[str, str]] = []
        self.states: list[LinkState] = []

    def reading_came(self, reading: Reading) -> None:
        self.readings.append(reading)

    def fault_came(self, fault: LineFault) -> None:
        self.faults.append(fault)

    def unit_changed(self, *, old: str, new: str) -> None:
        self.units.append((old, new))

    def link_changed(self, change: LinkChange) -> None:
        self.states.append(change.state)


def test_one_warning_an_episode_and_garbled_ends_with_good_lines() -> None:
    heard = Listening()
    listening = ScaleListening(make_scale_driver("plain-stream"), heard)
    good, bad = b"wt +00603.8 g still\r\n", b"~~garbage~~\r\n"
    listening.bytes_came(b"\r\n" + bad * 20 + good * 6, 1)
    assert len(heard.faults) == 1
    assert heard.states == [LinkState.GARBLED, LinkState.OPEN]
    assert listening.faults == 20
    listening.bytes_came(bad, 2)
    assert len(heard.faults) == 2
    assert len(heard.readings) == 6


def test_a_change_of_unit_stops_until_a_person_accepts_it() -> None:
    heard = Listening()
    listening = ScaleListening(make_scale_driver("ask-and-answer"), heard)
    grams, kilos = b"A; 603.8;g\r\n", b"A; 0.6038;kg\r\n"
    listening.bytes_came(grams + kilos * 3, 1)
    assert heard.units == [("g", "kg")]
    assert len(heard.readings) == 1
    listening.accept_unit("kg")
    listening.bytes_came(kilos + grams, 1)
    assert [reading.unit for reading in heard.readings] == ["g", "kg"]
    assert heard.units == [("g", "kg"), ("kg", "g")]


def test_a_lost_link_begins_the_stream_anew() -> None:
    heard = Listening()
    listening = ScaleListening(make_scale_driver("plain-stream"), heard)
    listening.bytes_came(b"\r\nwt +0060", 1)
    listening.link_changed(LinkChange(2, LinkState.LOST))
    listening.bytes_came(b"3.8 g still\r\nwt +00001.0 g still\r\n", 3)
    assert [str(reading.value) for reading in heard.readings] == ["1.0"]

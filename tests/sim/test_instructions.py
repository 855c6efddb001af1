"""What the operator can be told, and what is refused."""

from __future__ import annotations

import contextlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.instructions import (
    Adjust,
    Cut,
    End,
    InstructionError,
    Key,
    Lay,
    LayMass,
    Lift,
    Make,
    Spin,
    Taken,
    Unplug,
    read_instruction,
)


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('{"lay": {"kind": "piston", "place": 3}}', Lay("piston", 3)),
        ('{"lay": 603.7}', LayMass(603.7)),
        ('{"taken": {}}', Taken()),
        ('{"lift": {}}', Lift()),
        ('{"lift": true}', Lift()),
        ('{"lift": {"empty_s": 4}}', Lift(4.0)),
        ('{"make": {"throw": 2, "target_g": 2317.8}}', Make(2, 2317.8)),
        ('{"adjust": {"grams": -0.3}}', Adjust(-0.3)),
        ('{"spin": {"run": 1}}', Spin(1)),
        ('{"cut": {"plane": "front", "angle_deg": 213.0, "grams": 35.2}}', Cut("front", 213.0, 35.2)),
        ('{"cut": {"plane": "rear", "angle_deg": 1, "grams": 2, "station": 2, "tag": "b"}}', Cut("rear", 1, 2, 2, "b")),
        ('{"unplug": {"seconds": 2}}', Unplug(2.0)),
        ('{"unplug": 2.0}', Unplug(2.0)),
        ('{"key": "tare"}', Key("tare")),
        ('{"key": {"name": "unit"}}', Key("unit")),
        ('{"end": {}}', End()),
    ],
)
def test_understood(line: str, wanted: object) -> None:
    assert read_instruction(line) == wanted


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("lay it", "not a JSON object"),
        ("[1]", "exactly one key"),
        ('{"lay": {}, "lift": {}}', "exactly one key"),
        ('{"dance": {}}', "nobody knows"),
        ('{"lay": {"kind": "piston"}}', "lay.place: wanted a whole number"),
        ('{"lay": {"kind": 1, "place": 1}}', "lay.kind: wanted a word"),
        ('{"lay": "piston"}', "wanted an object"),
        ('{"make": {"throw": true, "target_g": 1}}', "make.throw"),
        ('{"make": {"throw": 1, "target_g": NaN}}', "make.target_g: wanted a number"),
        ('{"spin": {"run": 0}}', "spin.run"),
        ('{"cut": {"plane": "left", "angle_deg": 1, "grams": 1}}', "front or rear"),
        ('{"cut": {"plane": "rear", "angle_deg": 1, "grams": -1}}', "grams"),
        ('{"unplug": {"seconds": "two"}}', "unplug.seconds"),
        ('{"key": "power"}', "zero, tare or unit"),
    ],
)
def test_refused_in_words(line: str, why: str) -> None:
    with pytest.raises(InstructionError, match=why):
        read_instruction(line)


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@given(st.sampled_from(["lay", "make", "cut", "spin", "key", "unplug", "adjust", "end", "x"]), _JSON)
def test_nothing_else_than_an_instruction_or_a_refusal(word: str, body: object) -> None:
    # anything but an InstructionError fails the test
    with contextlib.suppress(InstructionError):
        assert type(read_instruction(json.dumps({word: body}))).__module__ == "sim.instructions"

"""What is read of an event's bytes to walk its chain, against the standard library's reading of the same bytes."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bench.trail.codec import CodecError
from bench.trail.envelope import envelope_of

WORDS = st.text(max_size=30)
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False) | WORDS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(WORDS, inner, max_size=3),
    max_leaves=8,
)
OTHER = st.dictionaries(
    WORDS.filter(lambda w: w not in {"seq", "id", "job", "bench", "previous_hash", "payload"}), ANYTHING
)


@given(
    other=OTHER,
    inner=st.dictionaries(WORDS.filter(lambda w: w != "kind"), ANYTHING, max_size=3),
    kind=WORDS,
    told=st.fixed_dictionaries({"id": WORDS, "job": WORDS, "bench": WORDS, "previous_hash": WORDS}),
    seq=st.integers(0, 2**53),
)
def test_it_reads_what_the_standard_library_reads(
    other: dict[str, object], inner: dict[str, object], kind: str, told: dict[str, str], seq: int
) -> None:
    body = other | {"payload": inner | {"kind": kind, "seq": -1, "bench": "of the payload"}, "seq": seq} | told
    data = json.dumps(body, ensure_ascii=False).encode()
    envelope, whole = envelope_of(data), json.loads(data)
    assert envelope.payload.kind == whole["payload"]["kind"]
    for name in ("seq", "id", "job", "bench", "previous_hash"):
        assert getattr(envelope, name) == whole[name]


def test_what_is_not_there_is_none() -> None:
    envelope = envelope_of(b'{"payload":{}}')
    assert (envelope.seq, envelope.id, envelope.bench, envelope.payload.kind) == (None, None, None, None)


@pytest.mark.parametrize(
    "data",
    [
        b"", b"\x00", b"[]", b"null", b"7", b"{}", b'{"payload":7}', b'{"payload":null}', b'{"payload":[]}',
        b'{"payload":{"kind":7}}', b'{"seq":"1","payload":{}}', b'{"seq":1.5,"payload":{}}',
        b'{"payload":{"a":tru}}', b'{"payload":{"a":01}}', b'{"payload":{"a":"\n"}}', b'{"payload":{}} more',
        b'{"payload":{"a":NaN}}', b'{"payload":{"kind":"\xff"}}', b'{"payload":{}', b'{"payload":' + b"[" * 100_000,
        b'{"payload":{"a":' + b"[" * 100_000 + b"]" * 100_000 + b"}}",
    ],
)  # fmt: skip
def test_what_is_no_event_is_refused(data: bytes) -> None:
    with pytest.raises(CodecError, match="wanted an event"):
        envelope_of(data)

"""What the record rests on, against the vectors of the standards: canonical JSON, SHA-256, UUIDv7."""

from __future__ import annotations

import json
import uuid

import pytest

from bench.trail.codec import canonical, digest
from bench.trail.identifiers import new_id

# FIPS 180-4 / NIST examples (from memory; the standard library gives the same)
DIGESTS = {
    b"": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    b"abc": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq": (
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
    ),
    b"a" * 1_000_000: "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
}


@pytest.mark.parametrize(("data", "wanted"), DIGESTS.items(), ids=["empty", "abc", "448 bits", "million a"])
def test_sha_256(data: bytes, wanted: str) -> None:
    assert digest(data) == wanted


def test_canonical_json_sample_object() -> None:
    # RFC 8785 section 3.2.2, sample object and its serialisation
    text = (
        '{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],'
        '"string":"\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/","literals":[null,true,false]}'
    )
    wanted = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical(json.loads(text)).decode() == wanted


def test_canonical_json_key_order() -> None:
    # RFC 8785: keys by UTF-16 code units
    keys = {"\u20ac": "Euro", "\r": "CR", "1": "One", "\u0080": "Ctrl"}
    assert list(json.loads(canonical(keys))) == ["\r", "1", "\u0080", "\u20ac"]


def test_ids_are_uuid_version_7_in_order() -> None:
    # RFC 9562 A.6: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F is 1645557742000 ms, 2022-02-22T19:22:22Z
    example = uuid.UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")
    assert example.int >> 80 == 1_645_557_742_000
    ids = [uuid.UUID(new_id()) for _ in range(200)]
    assert {one.version for one in ids} == {7}
    assert {one.variant for one in ids} == {uuid.RFC_4122}
    assert ids == sorted(ids)
    assert len(set(ids)) == 200

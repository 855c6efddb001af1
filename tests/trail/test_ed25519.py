"""Signatures against the published ones of RFC 8032 (section 7.1, from memory) and, where it is there, another program."""

from __future__ import annotations

import random
import shutil
import subprocess
from pathlib import Path

import pytest

from bench.trail.ed25519 import fits, new_seed, public_key, sign

P = 2**255 - 19
ORDER = 2**252 + 27742317777372353535851937790883648493
"""The field's prime and the base point's order, RFC 8032 section 5.1."""

PUBLISHED = (
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        (
            "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
            "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
        ),
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        (
            "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
            "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
        ),
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        (
            "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac"
            "18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a"
        ),
    ),
)


@pytest.mark.parametrize(("seed", "public", "message", "signature"), PUBLISHED)
def test_published_signatures(seed: str, public: str, message: str, signature: str) -> None:
    assert public_key(bytes.fromhex(seed)).hex() == public
    assert sign(bytes.fromhex(seed), bytes.fromhex(message)).hex() == signature
    assert fits(bytes.fromhex(public), bytes.fromhex(message), bytes.fromhex(signature))


def test_every_changed_bit_is_seen() -> None:
    seed = bytes(range(32))
    public, message = public_key(seed), b"spinledger"
    signature = sign(seed, message)
    for n in range(512):
        changed = bytearray(signature)
        changed[n // 8] ^= 1 << n % 8
        assert not fits(public, message, bytes(changed)), n
    for n in range(256):
        other = bytearray(public)
        other[n // 8] ^= 1 << n % 8
        assert not fits(bytes(other), message, signature), n
    assert not fits(public, message + b".", signature)


def test_what_is_no_signature_or_no_key() -> None:
    public = public_key(bytes(32))
    signature = sign(bytes(32), b"m")
    late = signature[:32] + (int.from_bytes(signature[32:], "little") + ORDER).to_bytes(32, "little")
    assert not fits(public, b"m", late), "a second signature made of the first"
    for key in (b"", public[:-1], public + b"0", P.to_bytes(32, "little"), b"\xff" * 32):
        assert not fits(key, b"m", signature)
    for wrong in (b"", signature[:-1], signature + b"0", b"\xff" * 64):
        assert not fits(public, b"m", wrong)
    with pytest.raises(ValueError, match="wanted 32"):
        sign(b"short", b"m")
    assert new_seed() != new_seed()


@pytest.mark.skipif(shutil.which("openssl") is None, reason="another program that signs is not here")
def test_another_program_says_the_same(tmp_path: Path) -> None:
    # the frames of RFC 8410 around a private and a public key
    dice = random.Random(8032)
    for _ in range(3):
        seed, message = dice.randbytes(32), dice.randbytes(dice.randint(1, 200))
        (tmp_path / "key").write_bytes(bytes.fromhex("302e020100300506032b657004220420") + seed)
        (tmp_path / "public").write_bytes(bytes.fromhex("302a300506032b6570032100") + public_key(seed))
        (tmp_path / "message").write_bytes(message)
        command = ["openssl", "pkeyutl", "-rawin", "-in", "message"]
        subprocess.run(
            [*command, "-sign", "-keyform", "DER", "-inkey", "key", "-out", "theirs"], cwd=tmp_path, check=True
        )
        assert (tmp_path / "theirs").read_bytes() == sign(seed, message)
        (tmp_path / "ours").write_bytes(sign(seed, message))
        subprocess.run(
            [*command, "-verify", "-pubin", "-keyform", "DER", "-inkey", "public", "-sigfile", "ours"],
            cwd=tmp_path, check=True, capture_output=True,
        )  # fmt: skip
